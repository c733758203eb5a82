// The bench around an emulated chip: a belt that goes by the drive's steps, an encoder on it, and
// seeding units made of bench/virtual's physics, whose seeds fall when the chip opens a valve.
//
// Units: µs since the chip's clock was started in this boot, µm of the belt since its drive was
// last switched on. Assumes: both gates stand below the valve; a portion waits on the valve whole.
#pragma once

#include "chip.hpp"

#include "bench/virtual/unit/feed.hpp"
#include "bench/virtual/unit/gate.hpp"
#include "bench/virtual/unit/unit.hpp"

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

namespace dropledger::emulated {

// Which pin is what: see boards/NAME/pins.hpp. Gates and valves count upwards from the first.
struct Wiring {
    std::vector<Pin> gates0;
    std::vector<Pin> gates1;
    std::vector<Pin> valves;
    std::vector<Pin> meters;
    Pin drive;
    Pin drive_step;
    Pin encoder_a;
    Pin encoder_b;
    Pin estop;
    Pin guard;
};
[[nodiscard]] Wiring wiring_of(const std::string& mcu);

struct BeltSpec {
    double um_per_step = 50.0;
    double um_per_count = 100.0;
};

struct OpeningTruth {
    int boot = 0;
    int run = 0;
    std::uint8_t channel = 0;
    std::uint32_t index = 0;
    double at_us = 0.0; // the pin went high
    std::uint32_t seeds = 0;
    std::vector<double> landings_um;
};

struct PulseTruth {
    int boot = 0;
    std::uint8_t channel = 0;
    std::uint8_t gate = 0;
    double at_us = 0.0;
    double width_us = 0.0;
    std::uint32_t seeds = 0; // 0: dust
    std::int64_t index = 0;  // of the drop whose seed began it; -1: dust
    int run = 0;
};

class Plant {
public:
    Plant(Chip& chip, const bench_virtual::Scenario& scenario, const Wiring& wiring);

    void chip_was_reset();                    // its outputs are off, its clock begins anew
    void take_away_seeds() { rows_.clear(); } // and the gates are somebody else's
    void press_estop(bool pressed) { chip_.set(wiring_.estop, pressed); }

    [[nodiscard]] const std::vector<OpeningTruth>& openings() const { return openings_; }
    [[nodiscard]] const std::vector<PulseTruth>& pulses() const { return pulses_; }
    [[nodiscard]] int runs() const { return run_ + 1; } // how often the drive was switched on
    [[nodiscard]] std::optional<Cycle> first_start() const { return first_start_; }

private:
    struct Row {
        bench_virtual::UnitSpec spec;
        bench_virtual::UnitTimes times;
        bench_virtual::Random random;
        bench_virtual::Feed feed;
        std::array<std::optional<bench_virtual::Gate>, 2> gates;
        std::uint32_t drops = 0; // of this run
    };

    void rest();
    void drive(bool on);
    void step();
    void encoder();
    void open(std::uint8_t channel);
    double fall(Row& row, double leave_us, std::int64_t owner);
    void dust(Row& row, double at_us);
    void settle();
    void show(std::uint8_t channel, std::uint8_t gate, const bench_virtual::Pulse& pulse);
    [[nodiscard]] double now_us() const;
    [[nodiscard]] Cycle cycle_of(double us) const;

    Chip& chip_;
    Wiring wiring_;
    BeltSpec belt_;
    double terminal_mps_;
    double seed_mm_;
    double seed_log_sd_;
    double ripple_;
    std::int64_t count_;
    double spacing_m_;
    std::vector<Row> rows_;
    std::vector<OpeningTruth> openings_;
    std::vector<PulseTruth> pulses_;
    int boot_ = 0;
    int run_ = -1;
    std::optional<Cycle> first_start_;
    double belt_um_ = 0.0; // since boot
    double origin_um_ = 0.0;
    double belt_um_per_us_ = 0.0;
    Cycle last_step_ = 0;
    std::int64_t steps_ = 0;
    std::int64_t counts_ = 0;
};

} // namespace dropledger::emulated
