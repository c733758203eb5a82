// What a run leaves open of where its seeds landed: intervals of places are widened by it, or there
// are none.
//
// The flight time's uncertainty shifts all places alike, and so may a capture's samples; a fall that nobody states, or an offset
// that is not identified, leaves them unknown. Units: µs, mm.
#pragma once

#include "analysis/audit/model/audit_report.hpp"

#include "analysis/ledger/gate_ledger.hpp"
#include "analysis/ledger/run_ledger.hpp"

#include <optional>
#include <vector>

namespace dropledger::audit {

// That saw seed, and nobody says where they sit. In line mode it makes no difference: only distances
// along the row count.
[[nodiscard]] std::vector<int> gates_without_place(ledger::Mode mode,
                                                   const ledger::ChannelOutcome& outcome);

// The flight time's uncertainty moves all places alike, by the way travelled meanwhile. Without a
// speed nobody knows how far: no interval holds.
void widen_for_flight(double flight_u_us, std::optional<double> speed_um_s,
                      measures::PlacementResult& placement);

// A capture knows command and pulse to one sample each: at most the way travelled in one sample lies
// between what was and what was seen, always the same way if it must be.
void widen_for_samples(std::int64_t step_ps, std::optional<double> speed_um_s,
                       measures::PlacementResult& placement);

// `flight_u_us`: standard uncertainty of a calibrated flight time.
void doubt_places(const AuditReport& report, const ledger::GateLedger& judge,
                  std::optional<double> flight_u_us, measures::PlacementResult& placement);

} // namespace dropledger::audit
