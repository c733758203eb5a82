#include "bench/virtual/unit/gate.hpp"

#include <algorithm>
#include <cmath>

namespace dropledger::bench_virtual {

namespace {

constexpr double deepest = 0.98; // some light always finds its way round
constexpr double slowest_mps = 0.3;

} // namespace

Gate::Gate(const GateSpec& spec, double seed_speed_mps)
    : spec_(spec), speed_mm_per_us_(std::max(seed_speed_mps, slowest_mps) / 1000.0) {
}

double Gate::fade(std::int64_t ordinal, double at_end) const {
    const FadeSpec& fade = spec_.fade;
    if (fade.to_drop <= fade.from_drop)
        return 1.0;
    const double along = static_cast<double>(ordinal - fade.from_drop) /
                         static_cast<double>(fade.to_drop - fade.from_drop);
    return 1.0 + std::clamp(along, 0.0, 1.0) * (at_end - 1.0);
}

bool Gate::cross(const SeedCrossing& seed, Random& random) {
    const double width_us = (seed.seed_mm + spec_.beam_mm) / speed_mm_per_us_ *
                            random.log_normal(1.0, spec_.width_log_sd);
    const double relative = seed.seed_mm / spec_.beam_mm;
    const double depth = (1.0 - plain_exp(-relative * relative)) *
                         random.log_normal(1.0, spec_.depth_log_sd) *
                         fade(seed.ordinal, spec_.fade.depth);
    if (!random.chance(spec_.detection * fade(seed.ordinal, spec_.fade.detection)))
        return false;
    add({.start_us = seed.at_us,
         .end_us = seed.at_us + width_us,
         .depth = std::min(depth, deepest),
         .owner = seed.owner,
         .seeds = 1});
    return true;
}

void Gate::debris(double at_us, std::int64_t owner, Random& random) {
    const double width_us = random.log_normal(spec_.debris_width_us, 0.4);
    const double depth = random.log_normal(spec_.debris_depth_milli, 0.4) / 1000.0;
    add({.start_us = at_us,
         .end_us = at_us + width_us,
         .depth = std::min(depth, deepest),
         .owner = owner,
         .seeds = 0});
}

void Gate::add(const Crossing& crossing) {
    const auto later =
        std::upper_bound(ahead_.begin(), ahead_.end(), crossing,
                         [](const auto& a, const auto& b) { return a.start_us < b.start_us; });
    ahead_.insert(later, crossing);
}

void Gate::settle(double bound_us) {
    auto next = ahead_.begin();
    for (; next != ahead_.end() && next->start_us < bound_us; ++next) {
        if (!open_.empty() && next->start_us >= open_.front().end_us)
            close();
        if (open_.empty() && next->start_us < blind_until_us_) {
            ends_.push_back({.owner = next->owner, .starts_pulse = false});
            continue;
        }
        open_.push_back(*next);
        Crossing& sum = open_.front();
        if (open_.size() == 1)
            continue;
        sum.end_us = std::max(sum.end_us, next->end_us);
        sum.depth = 1.0 - (1.0 - sum.depth) * (1.0 - next->depth);
        sum.seeds += next->seeds;
    }
    ahead_.erase(ahead_.begin(), next);
    if (!open_.empty() && open_.front().end_us <= bound_us)
        close();
}

void Gate::close() {
    const Crossing& sum = open_.front();
    const bool reported = sum.depth * 1000.0 >= static_cast<double>(spec_.threshold_milli);
    if (reported)
        pulses_.push_back({.start_us = sum.start_us,
                           .width_us = sum.end_us - sum.start_us,
                           .depth = std::min(sum.depth, deepest),
                           .owner = sum.owner,
                           .seeds = sum.seeds});
    if (reported)
        blind_until_us_ = sum.end_us + static_cast<double>(spec_.dead_us);
    for (std::size_t i = 0; i < open_.size(); ++i)
        ends_.push_back({.owner = open_.at(i).owner, .starts_pulse = reported && i == 0});
    open_.clear();
}

void Gate::forget_found() {
    pulses_.clear();
    ends_.clear();
}

} // namespace dropledger::bench_virtual
