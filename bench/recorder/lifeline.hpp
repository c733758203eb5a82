// Says `alive` to the controller on a thread of its own, so that a slow disk or a blocked terminal
// does not end a run; and the dead man's rule that bounds it.
//
// The rule: `alive` says that a recorder stands behind the run, and a person. Where the recorder has
// made no turn for Timings::dead_man (10 s), or `attended` says that nobody is there, `alive` stops
// and `halt` is sent instead; where that does not arrive, the controller halts by itself 2 s after
// the last `alive`. Who was found gone once does not count as there again.
//
// Assumes: progress and tripped are called on the recorder's thread, speak on any. `attended` is
// asked on the thread that speaks, returns at once and calls nothing of ours.
#pragma once

#include "bench/recorder/protocol/plan/clock.hpp"
#include "bench/recorder/protocol/plan/plan.hpp"
#include "bench/recorder/wire.hpp"

#include <functional>
#include <mutex>
#include <optional>

namespace dropledger::recorder {

enum class Trip : std::uint8_t { held_up, unattended };

class Lifeline {
public:
    Lifeline(Wire& wire, Clock& clock, const Timings& timings, std::function<bool()> attended);

    void begin();    // from `arm` on; before that `alive` would keep another's run going
    void progress(); // the recorder has made a turn
    void speak();    // every Timings::alive
    // Since it was last asked: why `halt` was sent.
    [[nodiscard]] std::optional<Trip> tripped();

private:
    [[nodiscard]] std::string next_word();

    Wire& wire_;
    Clock& clock_;
    const Microseconds dead_man_;
    const std::function<bool()> attended_;
    std::mutex rule_;
    bool begun_ = false;
    Microseconds progress_at_;
    int halts_ = 0;           // sent since the last progress
    bool left_alone_ = false; // for good
    std::optional<Trip> tripped_;
};

} // namespace dropledger::recorder
