// What a run came to, at its end: the units as the audit finds them, worst first.
#pragma once

#include "analysis/audit/model/audit_report.hpp"
#include "analysis/base/readers/byte_source.hpp"
#include "bench/book/book.hpp"
#include "bench/commands/run/settings/run_options.hpp"

#include <string>

namespace dropledger::cli {

// By the run's own profile and calibrations; with a book as the book judges. `open`: the log's bytes.
[[nodiscard]] Result<audit::AuditReport> audited(const RunOptions& options, const book::Book* book,
                                                 const std::string& log, const OpenBytes& open);

// To standard output. By the run's own profile and calibrations; with a book as the book judges. A log
// that can't be audited is told, and changes nothing.
void show_verdict(const RunOptions& options, const book::Book* book, const std::string& log);

} // namespace dropledger::cli
