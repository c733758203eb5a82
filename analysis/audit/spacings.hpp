// The audit of a plain list of spacings or positions, measured by tape, belt or rule.
#pragma once

#include "analysis/audit/model/audit_report.hpp"
#include "analysis/audit/options.hpp"
#include "analysis/base/readers/byte_source.hpp"

namespace dropledger::audit {

// One column of numbers with the header spacing_mm or position_mm.
[[nodiscard]] Result<AuditReport> audit_spacings(const OpenBytes& open,
                                                 const AuditOptions& options);

} // namespace dropledger::audit
