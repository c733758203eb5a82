// One run of the whole virtual bench: every unit, the travel encoder, and the order in which lines
// leave.
//
// Units: µs since `go`, µm of travel.
// Assumes: the same scenario, order and run number give the same events and truths, bit for bit, on
// any platform.
// Undefined when: the order names a channel that the scenario does not have: throws BrokenInvariant
// (the controller has refused such an `arm`).
#pragma once

#include "bench/virtual/unit/event.hpp"
#include "bench/virtual/unit/scenario.hpp"
#include "bench/virtual/unit/unit.hpp"

#include <cstdint>
#include <deque>
#include <optional>
#include <queue>
#include <vector>

namespace dropledger::bench_virtual {

class Physics {
public:
    // `run` 0, 1, … of one session: each has random numbers of its own.
    Physics(const Scenario& scenario, const Order& order, std::uint64_t run = 0);

    // The next event in the order of sending, nothing once the run is over.
    [[nodiscard]] const Event* peek();
    void pop();
    // No drop is commanded any more from `at_us` on; what is falling still falls.
    void stop(std::int64_t at_us);
    // When the last seed has landed for sure; empty while there is no end.
    [[nodiscard]] std::optional<std::int64_t> end_us() const;

    void forget_truths() { keeps_truths_ = false; } // nobody will ask for them
    // Final truths whose cause lies before what was popped (all of them once the run is over).
    [[nodiscard]] std::vector<Truth> take_truths();

private:
    struct Later {
        bool operator()(const Event& a, const Event& b) const;
    };

    void advance();
    void advance_travel();
    void finish(std::size_t unit, double stop_us);
    void queue(Event event);
    void collect(Unit& unit);
    void find_safe();

    std::int64_t encoder_um_;
    std::int64_t travel_every_us_;
    std::int64_t shuffle_us_;
    Travel travel_;
    Random wire_;
    std::vector<Unit> units_;
    std::vector<double> ready_us_; // of each unit; infinite once it has finished
    double safe_us_ = 0.0;         // nothing unknown leaves before
    bool keeps_truths_ = true;
    std::priority_queue<Event, std::vector<Event>, Later> ahead_;
    std::deque<Truth> truths_;
    std::int64_t next_travel_us_ = 0;
    std::optional<std::int64_t> end_us_;
    std::optional<std::int64_t> stopped_us_;
    std::int64_t popped_us_ = -1;
    bool over_ = false;
};

} // namespace dropledger::bench_virtual
