// A run's entry from its audit.
#pragma once

#include "analysis/report/audit.hpp"
#include "bench/book/entries.hpp"

namespace dropledger::book {

// Without `file` and `sha256`, which the audit does not know.
[[nodiscard]] Run run_entry(const report::AuditReport& audit);

} // namespace dropledger::book
