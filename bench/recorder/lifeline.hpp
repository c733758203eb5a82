// Says `alive` to the controller on a thread of its own, so that a slow disk or a blocked terminal
// does not end a run; and the dead man's rule that bounds it.
//
// The rule: `alive` says that a recorder stands behind the run. Where the recorder has made no turn
// for Timings::dead_man (10 s) `alive` stops and `halt` is sent instead; where that does not
// arrive, the controller halts by itself 2 s after the last `alive`.
//
// Assumes: progress and tripped are called on the recorder's thread, speak on any.
#pragma once

#include "bench/recorder/protocol/clock.hpp"
#include "bench/recorder/protocol/plan.hpp"
#include "bench/recorder/wire.hpp"

#include <mutex>

namespace dropledger::recorder {

class Lifeline {
public:
    Lifeline(Wire& wire, Clock& clock, const Timings& timings);

    void begin();    // from `arm` on; before that `alive` would keep another's run going
    void progress(); // the recorder has made a turn
    void speak();    // every Timings::alive
    [[nodiscard]] bool tripped(); // since it was last asked: `halt` was sent for want of progress

private:
    [[nodiscard]] std::string next_word();

    Wire& wire_;
    Clock& clock_;
    const Microseconds dead_man_;
    std::mutex rule_;
    bool begun_ = false;
    Microseconds progress_at_;
    int halts_ = 0; // sent since the last progress
    bool tripped_ = false;
};

} // namespace dropledger::recorder
