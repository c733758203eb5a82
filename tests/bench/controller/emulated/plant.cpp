#include "plant.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace dropledger::emulated {

namespace {

constexpr double settled_ahead_us = 30000; // a seed needs longer from the valve to the first gate
constexpr Cycle settle_every = 5000 * cycles_per_us;
constexpr double steps_a_ripple = 20000;

std::vector<Pin> pins(char port, std::uint8_t first, std::uint8_t count) {
    std::vector<Pin> found;
    for (std::uint8_t i = 0; i < count; ++i)
        found.push_back({port, static_cast<std::uint8_t>(first + i)});
    return found;
}

} // namespace

Wiring wiring_of(const std::string& mcu) {
    if (mcu != "atmega2560")
        throw std::runtime_error("no wiring is known for " + mcu);
    return {.gates0 = pins('B', 0, 8),
            .gates1 = pins('K', 0, 8),
            .valves = pins('A', 0, 8),
            .meters = pins('C', 0, 8),
            .drive = {'L', 0},
            .drive_step = {'L', 3},
            .encoder_a = {'E', 4},
            .encoder_b = {'E', 5},
            .estop = {'D', 0},
            .guard = {'D', 1}};
}

Plant::Plant(Chip& chip, const bench_virtual::Scenario& scenario, const Wiring& wiring)
    : chip_(chip), wiring_(wiring), terminal_mps_(scenario.crop.terminal_mps),
      seed_mm_(scenario.crop.seed_mm), seed_log_sd_(scenario.crop.seed_log_sd),
      ripple_(scenario.speed_ripple), count_(scenario.count),
      spacing_m_(static_cast<double>(scenario.spacing_um) / 1e6) {
    const double speed_mps = static_cast<double>(scenario.speed_um_s) / 1e6;
    for (std::size_t i = 0; i < scenario.channels.size() && i < wiring.valves.size(); ++i) {
        const auto& spec = scenario.channels[i];
        rows_.push_back({.spec = spec,
                         .times = unit_times(spec, scenario.crop),
                         .random = bench_virtual::Random(scenario.seed, i + 1),
                         .feed = bench_virtual::Feed(spec, speed_mps),
                         .gates = {},
                         .drops = 0});
        for (std::size_t gate = 0; gate < 2; ++gate)
            if (spec.gates.at(gate))
                rows_.back().gates.at(gate).emplace(*spec.gates.at(gate),
                                                    rows_.back().times.gates.at(gate).speed_mps);
    }
    for (std::uint8_t channel = 0; channel < rows_.size(); ++channel)
        chip_.on_change(wiring_.valves[channel], [this, channel](bool high) {
            if (high)
                open(channel);
        });
    chip_.on_change(wiring_.drive, [this](bool high) { drive(high); });
    chip_.on_change(wiring_.drive_step, [this](bool high) {
        if (high)
            step();
    });
    rest();
    chip_.at(chip_.now() + settle_every, [this] { settle(); });
}

void Plant::rest() {
    for (const Pin pin : wiring_.gates0)
        chip_.set(pin, false);
    for (const Pin pin : wiring_.gates1)
        chip_.set(pin, false);
    chip_.set(wiring_.estop, false);
    chip_.set(wiring_.guard, false);
    encoder();
}

void Plant::chip_was_reset() {
    ++boot_;
    belt_um_per_us_ = 0.0;
}

double Plant::now_us() const {
    const Cycle began = chip_.clock_began().value_or(chip_.now());
    return static_cast<double>(chip_.now() - began) / cycles_per_us;
}

Cycle Plant::cycle_of(double us) const {
    return chip_.clock_began().value_or(chip_.now()) +
           static_cast<Cycle>(std::llround(us * cycles_per_us));
}

void Plant::drive(bool on) {
    if (!on)
        return;
    ++run_;
    first_start_ = first_start_.value_or(chip_.now());
    origin_um_ = belt_um_;
    for (Row& row : rows_)
        row.drops = 0;
}

// A step of the drive is a little longer or shorter as its wheel goes round.
void Plant::step() {
    ++steps_;
    const double turn = static_cast<double>(steps_) / steps_a_ripple;
    const double phase = turn - std::floor(turn);
    const double length_um =
        belt_.um_per_step * (1.0 + ripple_ * (4.0 * std::abs(phase - 0.5) - 1.0));
    const double passed_us = static_cast<double>(chip_.now() - last_step_) / cycles_per_us;
    belt_um_per_us_ = passed_us < 50000 ? length_um / passed_us : 0.0;
    last_step_ = chip_.now();
    belt_um_ += length_um;
    for (; belt_um_ >= static_cast<double>(counts_ + 1) * belt_.um_per_count; ++counts_)
        ;
    encoder();
}

void Plant::encoder() {
    const auto phase = static_cast<unsigned>(counts_ % 4); // 00 01 11 10: A leads
    chip_.set(wiring_.encoder_a, phase == 1 || phase == 2);
    chip_.set(wiring_.encoder_b, phase >= 2);
}

void Plant::open(std::uint8_t channel) {
    if (channel >= rows_.size())
        return;
    Row& row = rows_[channel];
    OpeningTruth truth{.boot = boot_,
                       .run = run_,
                       .channel = channel,
                       .index = row.drops,
                       .at_us = now_us(),
                       .seeds = 0,
                       .landings_um = {}};
    const double lag_us =
        row.spec.valve_lag_us + row.spec.valve_jitter_us * row.random.bounded_normal();
    double leave_us = truth.at_us + std::max(lag_us, 0.0);
    row.feed.begin(row.drops, row.random);
    for (std::int64_t cell = 0; cell < count_; ++cell)
        truth.seeds += row.feed.seeds_from_next_cell(row.random);
    for (std::uint32_t seed = 0; seed < truth.seeds; ++seed) {
        truth.landings_um.push_back(fall(row, leave_us, row.drops));
        leave_us += row.spec.release_least_us + row.random.exponential(row.spec.release_gap_us);
    }
    dust(row, truth.at_us);
    ++row.drops;
    openings_.push_back(std::move(truth));
}

// Where it comes down.
double Plant::fall(Row& row, double leave_us, std::int64_t owner) {
    const double stretch = std::max(1.0 + row.spec.flight_cv * row.random.bounded_normal(), 0.1);
    const double seed_mm = row.random.log_normal(seed_mm_, seed_log_sd_);
    for (std::size_t gate = 0; gate < 2; ++gate)
        if (row.gates.at(gate))
            row.gates.at(gate)->cross(
                {.at_us = leave_us + stretch * row.times.gates.at(gate).from_start_us,
                 .seed_mm = seed_mm,
                 .owner = owner,
                 .ordinal = owner},
                row.random);
    const double until_us = leave_us - now_us() + stretch * row.times.valve_to_ground_us;
    return belt_um_ - origin_um_ + belt_um_per_us_ * until_us;
}

void Plant::dust(Row& row, double at_us) {
    for (std::size_t gate = 0; gate < 2; ++gate)
        if (row.gates.at(gate) &&
            row.random.chance(row.spec.gates.at(gate)->debris_per_m * spacing_m_))
            row.gates.at(gate)->debris(at_us + 2 * settled_ahead_us * (1.0 + row.random.uniform()),
                                       -1, row.random);
}

void Plant::settle() {
    for (std::uint8_t channel = 0; channel < rows_.size(); ++channel)
        for (std::uint8_t gate = 0; gate < 2; ++gate) {
            auto& its = rows_[channel].gates.at(gate);
            if (!its)
                continue;
            its->settle(now_us() + settled_ahead_us);
            for (const bench_virtual::Pulse& pulse : its->pulses())
                show(channel, gate, pulse);
            its->forget_found();
        }
    chip_.at(chip_.now() + settle_every, [this] { settle(); });
}

void Plant::show(std::uint8_t channel, std::uint8_t gate, const bench_virtual::Pulse& pulse) {
    const Pin pin = (gate == 0 ? wiring_.gates0 : wiring_.gates1)[channel];
    pulses_.push_back(
        {boot_, channel, gate, pulse.start_us, pulse.width_us, pulse.seeds, pulse.owner, run_});
    chip_.at(cycle_of(pulse.start_us), [this, pin] { chip_.set(pin, true); });
    chip_.at(cycle_of(pulse.start_us + pulse.width_us), [this, pin] { chip_.set(pin, false); });
}

} // namespace dropledger::emulated
