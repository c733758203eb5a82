// Reads the log of a run that broke off: where it can go on, and with what.
//
// What was acknowledged was synced before. So a line that is no line, with no seal behind it, is
// the trace of a power cut or a kill: the log is cut there, at the first break, and the controller
// still has what stood behind it. With a seal behind it the log was changed or its disk is bad:
// refused.
//
// Assumes: nobody writes the log meanwhile. Reading streams; memory does not grow with the log, nor
// with a hole in it.
// Undefined when: a log has no controller line yet: `next` is empty.
#pragma once

#include "bench/recorder/protocol/lines/controller_state.hpp"
#include "bench/recorder/protocol/lines/known_bench.hpp"
#include "bench/recorder/protocol/lines/tally.hpp"
#include "bench/recorder/protocol/plan/plan.hpp"

#include "analysis/base/result.hpp"
#include "analysis/droplog/seal.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::recorder {

struct Recovered {
    std::uint64_t whole_bytes = 0; // the log up to its first break
    std::uint64_t torn_bytes = 0;  // from there to the end
    bool broken = false;           // more is torn than a last line without its LF
    droplog::SealChain chain;
    std::string run_id;
    ArmOrder order; // from the settings
    std::string boot;
    KnownBench bench;
    std::uint32_t first = 0;           // SEQ of the run's first line
    std::optional<std::uint32_t> next; // SEQ
    ControllerState state = ControllerState::idle;
    bool ordered = false;    // an `arm` was sent
    bool started = false;    // motors have turned for this log
    int starts = 0;          // how often
    bool start_open = false; // a `go` was sent and not answered by `started` yet
    bool reset = false;      // another boot stands in it
    bool unasked = false;    // a `started` or a drop stands in it that no `go` of it asked for
    std::uint64_t conflicting = 0; // lines that contradict an earlier one of their SEQ
    std::uint32_t missing = 0;     // lines that gaps of SEQ left out
    std::uint32_t lost = 0;        // by the controller, as its beats say
    // As @ending says; else that of the latest start's `halted`, or reset, or unasked_start; empty
    // where the run has not ended.
    std::string end_reason;
    bool is_wound_up = false; // @ending stands in it
    LiveTally tally;
    std::vector<std::string> remarks;             // before the first controller line
    std::string tolerance;                        // the profile's name, where one is set
    std::vector<ChannelSetting> channel_settings; // as the log has them

    // A run that has ended can only be closed: its controller halted, started anew, or moved
    // unasked.
    [[nodiscard]] bool ended() const { return !end_reason.empty(); }
    // It ended only because its host went away, and drops of its order are left: a start that is
    // confirmed anew may make those.
    [[nodiscard]] bool may_go_on() const;
};

// Fails for what cannot go on: no log, a closed one, a broken seal chain, settings without an
// order. `settled` is told of every settled drop, in order, and stays with the tally.
[[nodiscard]] Result<Recovered> recover(const std::string& path,
                                        const LiveTally::Watcher& settled = {});

} // namespace dropledger::recorder
