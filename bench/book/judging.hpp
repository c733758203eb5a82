// Profile and calibration for an audit, from the book.
//
// The profile is the book's own of the name that the log states, where there is one for the log's
// mode, else what `otherwise` says; the calibration is what speaks for each unit on the run's day
// (calibration/choice.hpp).
#pragma once

#include "analysis/audit/options.hpp"
#include "bench/book/book.hpp"
#include "calibration/record/record.hpp"

#include <vector>

namespace dropledger::book {

[[nodiscard]] Result<std::vector<calibration::Record>> calibration_records(const Book& book);

[[nodiscard]] Result<audit::AuditOptions> audit_options(const Book& book,
                                                        audit::ChooseProfile otherwise);

} // namespace dropledger::book
