// Records one run: wire to log, synced before it is acknowledged, through lost links and restarts.
//
// Assumes: one thread but for `alive` (lifeline.hpp); the hooks are called on it and return soon: a
// hook that waits is a recorder that stands still. A `go` is sent only with the plan's leave to
// start, once, and when log head, order and confirmation are synced. Whatever ends the recording,
// the controller is told to halt before it is left, unless it is known that nothing moves.
// Undefined when: never half a line: whatever happens, the log ends with a whole line or with one
// torn by a kill, which --resume cuts off.
#pragma once

#include "bench/link/transport.hpp"
#include "bench/recorder/protocol/lines/tally.hpp"
#include "bench/recorder/protocol/plan/clock.hpp"
#include "bench/recorder/protocol/plan/plan.hpp"
#include "bench/recorder/protocol/protocol.hpp"

#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::recorder {

struct Hooks {
    // How often the operator has asked to stop: once halts the motors and closes the log, twice
    // leaves at once.
    std::function<int()> interrupts = [] { return 0; };
    // Whether a person stands by; where nobody does the motors are halted as where the host is lost:
    // the log stays open, and what is left is made by a start that is confirmed anew. Asked
    // on another thread (lifeline.hpp). Whoever sits at a terminal does: it hangs up as an interrupt.
    std::function<bool()> attended = [] { return true; };
    std::function<void(const LiveTally&)> progress = [](const LiveTally&) {};
    std::function<void(const std::string&)> say = [](const std::string&) {};
    std::function<std::string(int)> channel_name = [](int channel) {
        return "channel " + std::to_string(channel);
    };
    // Told of every drop that is settled, in order; of a resumed log all over again.
    LiveTally::Watcher settled = {};
    // Asked after each drop: whether to end the run, and why (for @close).
    std::function<std::optional<std::string>(const LiveTally&)> stop = [](const LiveTally&) {
        return std::optional<std::string>{};
    };
    // Leave for one more start right after one that was carried out: its channels lacked different
    // numbers of drops.
    std::function<std::optional<StartConfirmed>()> confirm_again = [] {
        return std::optional<StartConfirmed>{};
    };
    // Remarks for the end of the log: what a stop rule has decided.
    std::function<std::vector<std::string>()> last_remarks = [] {
        return std::vector<std::string>{};
    };
};

struct Bench {
    std::function<Result<std::unique_ptr<link::Transport>>()> open; // the port, anew at every call
    Clock& clock;
};

struct RunSummary {
    std::string log;
    std::string end_reason; // as in @close: count, host, estop, interrupted, …
    // The wanted drops are done, or the stop rule has decided; and no line is lost or contradicted.
    bool as_planned = false;
    bool left_open = false; // to be gone on with: drops are left, and only the host was missing
    std::map<int, std::int64_t> remainder; // drops not commanded, per channel
    LiveTally tally;
    Counts counts;
    std::uint32_t conceded = 0;
};

// A new run into a new log at `path`.
[[nodiscard]] Result<RunSummary> record(RunPlan plan, const std::string& path, const Bench& bench,
                                        const Hooks& hooks);

// Goes on with the run of the log at `path`; the plan's timings, leave and key count, its settings
// do not. A run that is on is listened to; what it has left of its drops when its controller has
// halted for want of a host is made by another start, with the leave given here; any other run that
// has ended is closed.
[[nodiscard]] Result<RunSummary> resume(RunPlan plan, const std::string& path, const Bench& bench,
                                        const Hooks& hooks);

} // namespace dropledger::recorder
