// One seeding unit on the virtual bench: disc, tube, valve, fall, and the gates along the way.
//
// Units: µs since `go`, µm of travel.
// Assumes: drops come in order, every random delay is held to ± 4 standard deviations, so that
// after each drop ready_us() bounds from below the time of everything still unknown.
#pragma once

#include "bench/virtual/unit/event.hpp"
#include "bench/virtual/unit/feed.hpp"
#include "bench/virtual/unit/gate.hpp"
#include "bench/virtual/unit/random.hpp"
#include "bench/virtual/unit/scenario.hpp"
#include "bench/virtual/unit/times.hpp"
#include "bench/virtual/unit/travel.hpp"

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

namespace dropledger::bench_virtual {

// What the host asked for with `arm`. Line mode: COUNT seeds per SPACING is the rate aimed at, and
// DROPS counts spacings travelled.
struct Order {
    Mode mode = Mode::single;
    std::int64_t spacing_um = 0;
    std::int64_t count = 1;
    std::int64_t speed_um_s = 0;
    std::uint32_t channel_mask = 1;
    std::int64_t drops = 0; // 0: until halted
};
[[nodiscard]] Order default_order(const Scenario& scenario);

class Unit {
public:
    Unit(const Scenario& scenario, const Order& order, const Travel& travel, int channel);

    [[nodiscard]] bool done() const;
    void produce(); // the next drop, or the next place of the flow
    // No drop is commanded after `stop_us`: closes what is open.
    void finish(double stop_us);
    [[nodiscard]] double ready_us() const;
    // When the last drop is commanded; infinite where there is no end.
    [[nodiscard]] double last_command_us() const;

    std::vector<Event> events; // found since they were last cleared, in no order
    std::vector<Truth> truths; // final, in order of their cause

private:
    struct Entry {
        std::int64_t owner = 0; // drops from 0, extras below
        Truth truth;
        int open_crossings = 0;
    };
    struct Leaving {
        double at_us = 0.0;
        double seed_mm = 0.0;
        std::int64_t owner = 0; // the drop it leaves with
    };

    [[nodiscard]] std::int64_t commanded_um(std::int64_t drop) const;
    [[nodiscard]] double commanded_us(std::int64_t drop) const;
    [[nodiscard]] double disc_ahead_us(std::int64_t seed) const;
    [[nodiscard]] double time_at_us(double position_um) const; // infinite where the place is
    void produce_drop();
    void produce_place();
    void meter(std::int64_t drop, double commanded_us, double opening_us);
    [[nodiscard]] Leaving down_the_tube(double metered_us, std::int64_t drop, double closing_us);
    [[nodiscard]] std::int64_t owner_of(double arrival_us, std::int64_t drop,
                                        double closing_us) const;
    void release(std::int64_t drop, double opening_us);
    void extras();
    void stray(double at_us);
    void fall(const Leaving& seed);
    void dust(std::size_t gate);
    void cross(std::size_t gate, const SeedCrossing& seed);
    [[nodiscard]] bool has_gate(std::size_t gate, bool above) const;
    [[nodiscard]] double flight_stretch();
    Entry& entry(std::int64_t owner);
    std::int64_t new_extra(TruthKind kind, double at_us);
    void settle();
    void take_from(std::size_t gate);
    void publish();

    UnitSpec spec_;
    CropSpec crop_;
    Order order_;
    Travel travel_;
    UnitTimes times_;
    int channel_;
    Random random_;
    Feed feed_;
    std::array<std::optional<Gate>, 2> gates_;
    std::int64_t first_place_ = 0; // commanded position of drop 0, in spacings
    std::int64_t next_ = 0;
    double next_command_us_ = 0.0;      // of drop next_
    std::vector<double> disc_ahead_us_; // how long before the command the disc gives the n-th seed
    double next_place_um_ = 0.0;        // line
    double bound_us_ = 0.0;
    double closing_us_ = 0.0; // of the last drop's opening
    double stop_us_ = 0.0;    // nothing is commanded and no stray or dust begins after this
    double next_stray_um_ = 0.0;
    double next_stray_us_ = 0.0;
    std::array<double, 2> next_debris_um_{};
    std::array<double, 2> next_debris_us_{};
    std::int64_t next_extra_ = -1;
    std::vector<Leaving> waiting_; // on the closed valve or arriving at it
    std::vector<Entry> entries_;   // not final yet, by owner
};

} // namespace dropledger::bench_virtual
