// Reads the log of a run that broke off: where it can go on, and with what.
//
// Assumes: nobody writes the log meanwhile. Reading streams; memory does not grow with the log.
// Undefined when: a log has no controller line yet: `next` is empty.
#pragma once

#include "bench/recorder/controller_state.hpp"
#include "bench/recorder/plan.hpp"
#include "bench/recorder/tally.hpp"

#include "analysis/base/result.hpp"
#include "analysis/droplog/seal.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::recorder {

struct Recovered {
    std::uint64_t whole_bytes = 0; // the log without its torn last line
    std::uint64_t torn_bytes = 0;
    droplog::SealChain chain;
    std::string run_id;
    ArmOrder order; // from the settings
    std::string boot;
    std::optional<std::uint32_t> next; // SEQ
    ControllerState state = ControllerState::idle;
    std::string halt_reason; // where the state is halted
    LiveTally tally;
    std::vector<std::string> remarks; // before the first controller line
};

// Fails for what cannot go on: no log, a closed one, a broken seal chain, settings without an
// order. `settled` is told of every settled drop, in order, and stays with the tally.
[[nodiscard]] Result<Recovered> recover(const std::string& path,
                                        const LiveTally::Watcher& settled = {});

} // namespace dropledger::recorder
