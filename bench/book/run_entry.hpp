// A run's entry from its audit.
#pragma once

#include "analysis/audit/model/audit_report.hpp"
#include "bench/book/entries.hpp"

namespace dropledger::book {

// Without `file` and `sha256`, which the audit does not know.
[[nodiscard]] Run run_entry(const audit::AuditReport& audit);

} // namespace dropledger::book
