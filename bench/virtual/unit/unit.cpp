#include "bench/virtual/unit/unit.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <limits>
#include <utility>

namespace dropledger::bench_virtual {

namespace {

constexpr double never = std::numeric_limits<double>::infinity();
constexpr double longest_normal = 4.0;      // see Random::bounded_normal
constexpr double portion_starts = 0.8;      // of a spacing before the command
constexpr double run_in_us = 300000.0;      // travel before anything can happen
constexpr double most_offset_um = 100000.0; // of a channel, see the scenario reader

double next_um(double from_um, double per_m, Random& random) {
    return per_m > 0.0 ? from_um + random.exponential(1e6 / per_m) : never;
}

// What any unit needs before its first drop can be on time; the same for all, so that they start
// abreast.
double longest_start_us(const Scenario& scenario) {
    double longest_us = 0.0;
    for (const auto& unit : scenario.channels) {
        const UnitTimes times = unit_times(unit, scenario.crop);
        longest_us = std::max(longest_us, times.lead_us + times.disc_to_valve_us +
                                              longest_normal * unit.disc_jitter_us);
    }
    return longest_us + run_in_us;
}

} // namespace

Order default_order(const Scenario& scenario) {
    const bool line = scenario.mode == Mode::line;
    return {.mode = scenario.mode,
            .spacing_um =
                line ? (1000000000 + scenario.rate_per_m_milli / 2) / scenario.rate_per_m_milli
                     : scenario.spacing_um,
            .count = scenario.count,
            .speed_um_s = scenario.speed_um_s,
            .channel_mask = (1U << scenario.channels.size()) - 1U,
            .drops = scenario.drops};
}

Unit::Unit(const Scenario& scenario, const Order& order, const Travel& travel, int channel)
    : spec_(scenario.channels.at(static_cast<std::size_t>(channel))), crop_(scenario.crop),
      order_(order), travel_(travel), times_(unit_times(spec_, crop_)), channel_(channel),
      random_(scenario.seed, static_cast<std::uint64_t>(channel) + 1),
      feed_(spec_, static_cast<double>(order.speed_um_s) / 1e6) {
    const double spacing_um = static_cast<double>(order_.spacing_um);
    const double run_in_um = travel.position_um(longest_start_us(scenario)) + most_offset_um;
    first_place_ = 2 + static_cast<std::int64_t>(std::ceil(run_in_um / spacing_um));
    for (std::size_t g = 0; g < 2; ++g) {
        next_debris_um_.at(g) = never;
        if (!spec_.gates.at(g))
            continue;
        gates_.at(g).emplace(*spec_.gates.at(g), times_.gates.at(g).speed_mps);
        next_debris_um_.at(g) = next_um(0.0, spec_.gates.at(g)->debris_per_m, random_);
    }
    next_stray_um_ = next_um(0.0, spec_.stray_per_m, random_);
    next_stray_us_ = time_at_us(next_stray_um_);
    for (std::size_t g = 0; g < 2; ++g)
        next_debris_us_.at(g) = time_at_us(next_debris_um_.at(g));
    next_place_um_ = spacing_um * static_cast<double>(first_place_);
    for (std::int64_t seed = 0; seed < order_.count; ++seed)
        disc_ahead_us_.push_back(disc_ahead_us(seed));
    next_command_us_ = commanded_us(next_);
    stop_us_ = last_command_us();
}

double Unit::time_at_us(double position_um) const {
    return position_um < never ? travel_.time_us(position_um) : never;
}

std::int64_t Unit::commanded_um(std::int64_t drop) const {
    return (first_place_ + drop) * order_.spacing_um;
}

double Unit::commanded_us(std::int64_t drop) const {
    return whole(travel_.time_us(static_cast<double>(commanded_um(drop) + spec_.offset_um)) -
                 times_.lead_us);
}

double Unit::disc_ahead_us(std::int64_t seed) const {
    const double spacing_us =
        static_cast<double>(order_.spacing_um) * 1e6 / static_cast<double>(order_.speed_um_s);
    const double early = std::max(portion_starts, spec_.disc_phase);
    const double along = static_cast<double>(seed + 1) / static_cast<double>(order_.count);
    return spacing_us * (early - (early - spec_.disc_phase) * along) + times_.disc_to_valve_us;
}

double Unit::last_command_us() const {
    if (order_.drops == 0)
        return never;
    return order_.mode == Mode::line
               ? travel_.time_us(static_cast<double>(commanded_um(order_.drops)))
               : commanded_us(order_.drops - 1);
}

bool Unit::done() const {
    if (order_.drops == 0)
        return false;
    return order_.mode == Mode::line
               ? next_place_um_ >= static_cast<double>(commanded_um(order_.drops))
               : next_ >= order_.drops;
}

void Unit::produce() {
    if (order_.mode == Mode::line)
        produce_place();
    else
        produce_drop();
    settle();
}

double Unit::ready_us() const {
    double ready = bound_us_;
    for (const auto& gate : gates_)
        if (gate)
            ready = std::min(ready, gate->open_since().value_or(never));
    return ready;
}

void Unit::produce_drop() {
    const std::int64_t drop = next_++;
    const double commanded = std::exchange(next_command_us_, commanded_us(next_));
    Truth& truth = entry(drop).truth;
    truth.position_um = commanded_um(drop);
    truth.cause_us = commanded;
    events.push_back({.at_us = static_cast<std::int64_t>(commanded),
                      .kind = EventKind::drop,
                      .channel = static_cast<std::int16_t>(channel_),
                      .index = static_cast<std::uint32_t>(drop),
                      .count = static_cast<std::uint32_t>(order_.count),
                      .position_um = commanded_um(drop),
                      .cause_us = static_cast<std::int64_t>(commanded)});
    const double late_us = spec_.valve_lag_us +
                           spec_.valve_drift_us_per_1000 * static_cast<double>(drop) / 1000.0 +
                           spec_.valve_jitter_us * random_.bounded_normal();
    const double opening_us = commanded + std::max(late_us, 0.0);
    feed_.begin(drop, random_);
    meter(drop, commanded, opening_us);
    release(drop, opening_us);
    closing_us_ = opening_us + spec_.valve_open_us;
    bound_us_ = next_command_us_ - std::max(disc_ahead_us_.front(), 0.0) -
                longest_normal * spec_.disc_jitter_us;
}

void Unit::meter(std::int64_t drop, double commanded_us, double opening_us) {
    for (const double ahead_us : disc_ahead_us_) {
        double metered_us =
            commanded_us - ahead_us + spec_.disc_jitter_us * random_.bounded_normal();
        for (std::uint32_t left = feed_.seeds_from_next_cell(random_); left > 0; --left) {
            const Leaving seed = down_the_tube(metered_us, drop, opening_us + spec_.valve_open_us);
            if (seed.owner < drop)
                fall(seed); // so early that the valve is still open from the drop before
            else
                waiting_.push_back(seed);
            metered_us += random_.exponential(spec_.double_gap_us);
        }
    }
}

// Through the valve it finds open, or on to the next opening.
std::int64_t Unit::owner_of(double arrival_us, std::int64_t drop, double closing_us) const {
    if (order_.mode != Mode::line && drop > 0 && arrival_us <= closing_us_)
        return drop - 1;
    return arrival_us <= closing_us ? drop : drop + 1;
}

Unit::Leaving Unit::down_the_tube(double metered_us, std::int64_t drop, double closing_us) {
    const double stretch = flight_stretch();
    const double arrival_us = metered_us + stretch * times_.disc_to_valve_us;
    const Leaving seed{.at_us = arrival_us,
                       .seed_mm = random_.log_normal(crop_.seed_mm, crop_.seed_log_sd),
                       .owner = owner_of(arrival_us, drop, closing_us)};
    for (std::size_t g = 0; g < 2; ++g)
        if (has_gate(g, true))
            cross(g, {.at_us = metered_us + stretch * times_.gates.at(g).from_start_us,
                      .seed_mm = seed.seed_mm,
                      .owner = seed.owner,
                      .ordinal = drop});
    return seed;
}

void Unit::release(std::int64_t drop, double opening_us) {
    const auto earlier = [](const Leaving& a, const Leaving& b) { return a.at_us < b.at_us; };
    if (!std::is_sorted(waiting_.begin(), waiting_.end(), earlier))
        std::stable_sort(waiting_.begin(), waiting_.end(), earlier);
    double leave_us = opening_us;
    auto later = waiting_.begin();
    for (const Leaving& seed : waiting_) {
        if (seed.owner > drop) {
            *later++ = seed;
            continue;
        }
        fall({.at_us = std::max(leave_us, seed.at_us),
              .seed_mm = seed.seed_mm,
              .owner = seed.owner});
        leave_us += spec_.release_least_us + random_.exponential(spec_.release_gap_us);
    }
    waiting_.erase(later, waiting_.end());
}

void Unit::produce_place() {
    const std::int64_t place = next_++;
    const double at_um = next_place_um_;
    const double spacing_um =
        static_cast<double>(order_.spacing_um) / static_cast<double>(order_.count);
    const double cv = spec_.gap_cv;
    next_place_um_ += cv > 0.0 ? spacing_um * cv * cv * random_.gamma(1.0 / (cv * cv)) : spacing_um;
    const double at_us = travel_.time_us(at_um);
    Entry& truth = entry(place);
    truth.truth.kind = TruthKind::seed;
    truth.truth.position_um = static_cast<std::int64_t>(whole(at_um));
    truth.truth.cause_us = at_us;
    feed_.begin(place, random_);
    double metered_us = at_us + spec_.disc_jitter_us * random_.bounded_normal();
    for (std::uint32_t left = feed_.seeds_from_next_cell(random_); left > 0; --left) {
        const Leaving seed = down_the_tube(metered_us, place, never);
        fall(seed);
        metered_us += random_.exponential(spec_.double_gap_us);
    }
    bound_us_ = travel_.time_us(next_place_um_) - longest_normal * spec_.disc_jitter_us;
}

void Unit::fall(const Leaving& seed) {
    const double stretch = flight_stretch();
    for (std::size_t g = 0; g < 2; ++g)
        if (has_gate(g, false))
            cross(g, {.at_us = seed.at_us + stretch * times_.gates.at(g).from_start_us,
                      .seed_mm = seed.seed_mm,
                      .owner = seed.owner,
                      .ordinal = std::max<std::int64_t>(seed.owner, 0)});
    const double landing_um =
        travel_.position_um(seed.at_us) +
        travel_.speed_um_per_us(seed.at_us) * stretch * times_.valve_to_ground_us;
    Truth& truth = entry(seed.owner).truth;
    ++truth.seeds;
    truth.landings_um.push_back(static_cast<std::int64_t>(whole(landing_um)));
}

bool Unit::has_gate(std::size_t gate, bool above) const {
    return spec_.gates.at(gate) && spec_.gates.at(gate)->above == above;
}

double Unit::flight_stretch() {
    return std::max(1.0 + spec_.flight_cv * random_.bounded_normal(), 0.1);
}

void Unit::cross(std::size_t gate, const SeedCrossing& seed) {
    if (gates_.at(gate)->cross(seed, random_))
        ++entry(seed.owner).open_crossings;
}

// Holds until the next one is asked for.
Unit::Entry& Unit::entry(std::int64_t owner) {
    auto behind = entries_.end();
    while (behind != entries_.begin() && std::prev(behind)->owner > owner)
        --behind;
    if (behind != entries_.begin() && std::prev(behind)->owner == owner)
        return *std::prev(behind);
    Entry& made = *entries_.emplace(behind);
    made.owner = owner;
    made.truth.channel = static_cast<std::int16_t>(channel_);
    made.truth.index = std::max<std::int64_t>(owner, -1);
    return made;
}

std::int64_t Unit::new_extra(TruthKind kind, double at_us) {
    const std::int64_t owner = next_extra_--;
    Truth& truth = entry(owner).truth;
    truth.kind = kind;
    truth.cause_us = at_us;
    return owner;
}

void Unit::stray(double at_us) {
    const Leaving seed{.at_us = at_us,
                       .seed_mm = random_.log_normal(crop_.seed_mm, crop_.seed_log_sd),
                       .owner = new_extra(TruthKind::stray, at_us)};
    for (std::size_t g = 0; g < 2; ++g)
        if (has_gate(g, true))
            cross(g,
                  {.at_us = at_us, .seed_mm = seed.seed_mm, .owner = seed.owner, .ordinal = next_});
    fall(seed);
}

void Unit::dust(std::size_t gate) {
    const double at_us = next_debris_us_.at(gate);
    const std::int64_t owner = new_extra(TruthKind::debris, at_us);
    gates_.at(gate)->debris(at_us, owner, random_);
    ++entry(owner).open_crossings;
    next_debris_um_.at(gate) =
        next_um(next_debris_um_.at(gate), spec_.gates.at(gate)->debris_per_m, random_);
    next_debris_us_.at(gate) = time_at_us(next_debris_um_.at(gate));
}

// Strays and dust up to the time that the drops have reached.
void Unit::extras() {
    const double reached_us = std::min(bound_us_, stop_us_);
    while (next_stray_us_ < reached_us) {
        stray(next_stray_us_);
        next_stray_um_ = next_um(next_stray_um_, spec_.stray_per_m, random_);
        next_stray_us_ = time_at_us(next_stray_um_);
    }
    for (std::size_t g = 0; g < 2; ++g)
        while (next_debris_us_.at(g) < reached_us)
            dust(g);
}

void Unit::settle() {
    extras();
    for (std::size_t g = 0; g < 2; ++g) {
        if (!gates_.at(g))
            continue;
        gates_.at(g)->settle(bound_us_);
        take_from(g);
    }
    publish();
}

void Unit::take_from(std::size_t gate) {
    for (const Pulse& pulse : gates_.at(gate)->pulses())
        events.push_back(
            {.at_us = static_cast<std::int64_t>(whole(pulse.start_us)),
             .kind = EventKind::pulse,
             .channel = static_cast<std::int16_t>(channel_),
             .gate = static_cast<std::uint16_t>(gate),
             .width_us = static_cast<std::uint32_t>(std::max(whole(pulse.width_us), 1.0)),
             .depth_milli = static_cast<std::uint32_t>(whole(pulse.depth * 1000.0)),
             .true_seeds = pulse.seeds,
             .cause_us = static_cast<std::int64_t>(entry(pulse.owner).truth.cause_us)});
    for (const CrossingEnd& end : gates_.at(gate)->ends()) {
        Entry& owner = entry(end.owner);
        --owner.open_crossings;
        owner.truth.seen[gate] += end.starts_pulse ? 1U : 0U;
    }
    gates_.at(gate)->forget_found();
}

void Unit::publish() {
    // a seed may still join the last drop
    const auto is_final = [this](const Entry& entry) {
        return entry.open_crossings <= 0 && entry.owner < next_ - 1;
    };
    for (Entry& entry : entries_)
        if (is_final(entry))
            truths.push_back(std::move(entry.truth));
    std::erase_if(entries_, is_final);
}

void Unit::finish(double stop_us) {
    stop_us_ = std::min(stop_us, stop_us_);
    bound_us_ = never;
    for (Entry& entry : entries_) {
        if (entry.owner < next_)
            continue;
        entry.truth.kind = TruthKind::held;
        entry.truth.position_um = commanded_um(entry.owner);
        entry.truth.cause_us = commanded_us(next_ - 1);
    }
    next_ = std::numeric_limits<std::int64_t>::max();
    settle();
}

} // namespace dropledger::bench_virtual
