// A log read into ledgers and tallies, one of each for every gate.
#pragma once

#include "analysis/audit/gate_sink.hpp"
#include "analysis/audit/options.hpp"
#include "analysis/droplog/reader.hpp"
#include "analysis/ledger/run_ledger.hpp"
#include "analysis/verdict/stopping_rule.hpp"

#include <map>
#include <memory>
#include <utility>

namespace dropledger::audit {

using GateKey = std::pair<int, int>; // channel, gate

using Tallies = std::map<GateKey, std::unique_ptr<GateSink>>;

struct Pass {
    droplog::Reading reading;
    ProfileChoice choice;
    verdict::StatedRule stated;
    Calibrated calibrated;
    Tallies tallies;
    std::unique_ptr<ledger::RunLedger> ledger;
};

// Reads the log once more where the direction of travel or the whole run's registration would have
// entered a landing elsewhere.
[[nodiscard]] Result<Pass> read_as_needed(const OpenBytes& open, const AuditOptions& options);

} // namespace dropledger::audit
