#include "calibration/efficiency/steadiness.hpp"

#include "analysis/statistics/shares/comparison.hpp"
#include "analysis/statistics/shares/proportion.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::calibration {

namespace {

using statistics::Group;

constexpr double beyond_chance = 0.001;

bool differ(Group a, Group b) {
    return statistics::fisher_exact_p(a, b).value_or(1.0) < beyond_chance;
}

Group overlooked(const SeenByOther& other, std::size_t from, std::size_t to) {
    const auto begin = other.seen.begin();
    const auto span = [&](std::size_t at) { return begin + static_cast<std::ptrdiff_t>(at); };
    return {.x = std::count(span(from), span(to), false),
            .n = static_cast<std::int64_t>(to - from)};
}

// A quarter of the mean distance, a tenth of a second at the most.
std::int64_t close_us(const std::vector<std::int64_t>& times_us) {
    constexpr std::int64_t most_us = 100'000;
    const std::int64_t span_us = times_us.back() - times_us.front();
    return std::min(most_us, span_us / (4 * static_cast<std::int64_t>(times_us.size())));
}

struct Followers {
    Group close; // overlooked, of those right behind another pulse
    Group alone;
};

Followers followers(const SeenByOther& other) {
    const std::int64_t close = close_us(other.times_us);
    Followers found;
    for (std::size_t i = 0; i < other.seen.size(); ++i) {
        const std::int64_t since_us = i == 0 ? -1 : other.times_us[i] - other.times_us[i - 1];
        Group& group = since_us >= 0 && since_us <= close ? found.close : found.alone;
        ++group.n;
        group.x += other.seen[i] ? 0 : 1;
    }
    return found;
}

std::optional<std::string> doubt_of_halves(const SeenByOther& other, const GateInDoubt& gate) {
    const std::size_t half = other.seen.size() / 2;
    const Group early = overlooked(other, 0, half);
    const Group late = overlooked(other, half, other.seen.size());
    if (!differ(early, late))
        return std::nullopt;
    return fmt::format("Gate {} overlooked {} of {} seeds in the first half and {} of {} in the "
                       "second: it has no one efficiency.",
                       gate.number, early.x, early.n, late.x, late.n);
}

std::optional<std::string> doubt_of_followers(const SeenByOther& other, const GateInDoubt& gate) {
    constexpr double some = 0.02;
    const auto [close, alone] = followers(other);
    const auto all = static_cast<std::int64_t>(other.seen.size());
    if (close.x == 0 || !differ(close, alone) || close.x * alone.n <= alone.x * close.n ||
        statistics::clopper_pearson(close.x, all, Confidence{0.95}).low <= some)
        return std::nullopt;
    return fmt::format(
        "Gate {} overlooked {} of {} seeds that came right behind another pulse, and "
        "{} of the {} others: the other gate saw seeds twice, or this one took two "
        "for one.",
        gate.number, close.x, close.n, alone.x, alone.n);
}

// Whatever a unit drops, both gates see it, if they see it one by one.
std::optional<std::string> doubt_of_numbers(const SeenByOther& other, const GateInDoubt& gate) {
    const auto seen = static_cast<std::int64_t>(other.seen.size());
    if (2 * seen <= 3 * gate.drops || 5 * gate.seeds >= 6 * gate.drops)
        return std::nullopt;
    return fmt::format(
        "The other gate saw {} pulses in {} drops, gate {} only {}: most of them are no "
        "seeds, or this gate takes several for one.",
        seen, gate.drops, gate.number, gate.seeds);
}

} // namespace

std::optional<std::string> doubt_of_timing(const Untimely& seen) {
    constexpr double some = 0.01;
    if (seen.at_no_seed == 0 ||
        statistics::clopper_pearson(seen.at_no_seed, seen.pulses, Confidence{0.95}).low <= some)
        return std::nullopt;
    return fmt::format("{} of gate 1's {} pulses came when no valve had let a seed go: dust or "
                       "vibration, which gate 0 is no worse for not seeing.",
                       seen.at_no_seed, seen.pulses);
}

std::optional<std::string> doubt_about_efficiency(const SeenByOther& other,
                                                  const GateInDoubt& gate) {
    if (other.seen.size() < 2)
        return std::nullopt;
    if (auto doubt = doubt_of_halves(other, gate))
        return doubt;
    if (gate.drops == 0)
        return std::nullopt;
    if (auto doubt = doubt_of_numbers(other, gate))
        return doubt;
    return doubt_of_followers(other, gate);
}

} // namespace dropledger::calibration
