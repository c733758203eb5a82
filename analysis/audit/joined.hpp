// A run that ended early and the logs that go on with its order, read as one.
//
// Assumes: the logs are sound, of the same bench, units and settings, one after the other, and make
// together no more drops than the first one's order. A run that made its whole order is whole by
// itself: what is run after it was seen is another run.
// Undefined when: one of these does not hold: refused, with what differs.
#pragma once

#include "analysis/audit/options.hpp"
#include "analysis/droplog/reader.hpp"
#include "analysis/ledger/run_ledger.hpp"

#include <cstdint>

namespace dropledger::audit {

// Feeds each of the further logs to the ledger that has read the first one.
[[nodiscard]] Status read_joined(const droplog::Reading& first, const AuditOptions& options,
                                 ledger::RunLedger& ledger);

// Once all is read: `drops` of a channel against the first log's order.
[[nodiscard]] Status check_joined(const droplog::Reading& first, const AuditOptions& options,
                                  std::int64_t drops);

} // namespace dropledger::audit
