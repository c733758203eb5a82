#include "calibration/efficiency/efficiency.hpp"

#include "analysis/statistics/basics/distributions.hpp"
#include "analysis/statistics/shares/proportion.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::calibration {

using statistics::Estimate;
using statistics::Interval;

namespace {

// More than anyone weighs or counts; beyond it the interval's sums lose their digits.
constexpr std::int64_t most_seeds = 1'000'000'000'000;

Status check(const statistics::TwoObservers& seen) {
    const auto counts =
        fmt::format("both {}, first {}, second {}", seen.both, seen.first, seen.second);
    if (seen.both < 0 || seen.first < 0 || seen.second < 0)
        return usage_error("counts of two gates", fmt::format("a count below 0 ({})", counts),
                           "counts are 0 or more");
    if (seen.both > seen.first || seen.both > seen.second)
        return usage_error(
            "counts of two gates",
            fmt::format("more seeds seen by both gates than by one of them ({})", counts),
            "`first` and `second` count everything that gate saw, matched or not");
    if (seen.first + seen.second == 0)
        return usage_error("counts of two gates", "neither gate saw a seed",
                           "drop seeds through both gates");
    if (std::max(seen.first, seen.second) > most_seeds)
        return usage_error("counts of two gates", fmt::format("more than {} seeds", most_seeds),
                           "check the counts");
    return Done{};
}

Status check(const Weighing& weighing) {
    const auto bad = [](double mass) { return !std::isfinite(mass) || mass <= 0.0; };
    const auto bad_u = [](double u) { return !std::isfinite(u) || u < 0.0; };
    if (bad(weighing.mass_g) || bad(weighing.thousand_g))
        return usage_error("weighing", "a mass that is not above 0", "give grams");
    if (bad_u(weighing.mass_u_g) || bad_u(weighing.thousand_u_g))
        return usage_error("weighing", "a standard uncertainty below 0", "give grams, 0 or more");
    if (weighing.pulses < 0 || weighing.pulses > most_seeds)
        return usage_error("weighing", fmt::format("{} pulses", weighing.pulses),
                           fmt::format("give the pulses of the gate, 0 to {}", most_seeds));
    return Done{};
}

Interval clipped(double value, double half_width) {
    return {std::clamp(value - half_width, 0.0, 1.0), std::clamp(value + half_width, 0.0, 1.0)};
}

Comparison compared(const Way& a, const Way& b) {
    const Interval& ia = *a.efficiency.interval;
    const Interval& ib = *b.efficiency.interval;
    const double va = a.efficiency.value;
    const double vb = b.efficiency.value;
    Comparison out{
        .first = a.name, .second = b.name, .difference = va - vb, .interval = {}, .words = {}};
    out.interval = {out.difference - std::hypot(va - ia.low, ib.high - vb),
                    out.difference + std::hypot(ia.high - va, vb - ib.low)};
    out.agree = out.interval.low <= 0.0 && out.interval.high >= 0.0;
    const auto sizes =
        fmt::format("{:.2f} % and {:.2f} %, difference {:.2f} to {:.2f} points", 100.0 * va,
                    100.0 * vb, 100.0 * out.interval.low, 100.0 * out.interval.high);
    if (out.agree)
        out.words =
            fmt::format("{} and {} agree within their uncertainties ({}).", a.name, b.name, sizes);
    else
        out.words = fmt::format(
            "{} and {} do not agree: {} gives more than their uncertainties allow ({}). One of "
            "them is wrong; do not use their mean.",
            a.name, b.name, out.difference > 0.0 ? a.name : b.name, sizes);
    return out;
}

} // namespace

Result<statistics::Recapture> two_gates(statistics::TwoObservers seen, Confidence confidence,
                                        double greatest_odds) {
    constexpr double most_odds = 1000.0;
    if (!(greatest_odds >= 1.0 && greatest_odds <= most_odds))
        return usage_error("odds of joint blindness", fmt::format("{}", greatest_odds),
                           fmt::format("give 1 (gates independent) to {}", most_odds));
    if (const Status status = check(seen); !status)
        return status.error();
    auto result = statistics::recapture(seen, confidence, greatest_odds);
    if (!result)
        throw BrokenInvariant("two gates: counts were checked, yet there is no estimate");
    return *std::move(result);
}

std::vector<Dependence> dependence(statistics::TwoObservers seen, const std::vector<double>& odds) {
    const auto both = static_cast<double>(seen.both);
    const auto first = static_cast<double>(seen.first);
    const auto second = static_cast<double>(seen.second);
    // Chapman's seeds seen by neither, at odds 1
    const double neither = (first - both) * (second - both) / (both + 1.0);
    std::vector<Dependence> out;
    for (const double ratio : odds) {
        const double seeds = first + second - both + ratio * neither;
        if (seeds > 0.0)
            out.push_back({ratio, seeds, first / seeds, second / seeds});
    }
    return out;
}

namespace {

std::string escaped_words(const ImpliedDependence& found) {
    const Estimate& missed = found.missed_by_both;
    return fmt::format("{:.0f} seeds ({:.0f} to {:.0f}) escaped both gates; {:.1f} if they "
                       "overlook seeds independently",
                       missed.value, missed.interval->low, missed.interval->high, found.expected);
}

std::string odds_words(const Estimate& odds) {
    const bool independent = odds.interval->low <= 1.0 && odds.interval->high >= 1.0;
    return fmt::format(
        "odds ratio {:.1f} ({:.1f} to {:.1f}), {}", odds.value, odds.interval->low,
        odds.interval->high,
        independent ? "nothing speaks against independent gates"
        : odds.value > 1.0
            ? "so what escapes one gate escapes the other more easily, and two gates flatter both"
            : "so one gate tends to see what the other overlooks, or dust was counted");
}

// Seeds missed by both over those that would be if gates overlooked seeds independently.
std::optional<Estimate> implied_odds(const ImpliedDependence& found) {
    if (!(found.expected > 0.0))
        return std::nullopt;
    Estimate odds = found.missed_by_both;
    odds.value /= found.expected;
    odds.interval->low /= found.expected;
    odds.interval->high /= found.expected;
    return odds;
}

} // namespace

std::optional<ImpliedDependence> implied_dependence(statistics::TwoObservers seen, bool first,
                                                    const Estimate& efficiency) {
    if (!efficiency.interval || !(efficiency.interval->low > 0.0) || seen.both <= 0)
        return std::nullopt;
    const auto both = static_cast<double>(seen.both);
    const double only_first = static_cast<double>(seen.first) - both;
    const double only_second = static_cast<double>(seen.second) - both;
    const double counted =
        first ? static_cast<double>(seen.first) : static_cast<double>(seen.second);
    // seeds that fell, less those that a gate saw
    const auto missed = [&](double share) {
        return std::max(0.0, counted / share - (both + only_first + only_second));
    };
    ImpliedDependence out;
    out.expected = only_first * only_second / both;
    out.missed_by_both = {
        .value = missed(efficiency.value),
        .interval = Interval{missed(efficiency.interval->high), missed(efficiency.interval->low)},
        .confidence = efficiency.confidence,
        .method = "counted over the efficiency, less what either gate saw"};
    out.odds = implied_odds(out);
    out.words = escaped_words(out) + (out.odds ? ": " + odds_words(*out.odds) : "") + ".";
    return out;
}

Result<Estimate> efficiency_of(HandCount count, Confidence confidence) {
    if (count.dropped <= 0 || count.seen < 0)
        return usage_error("hand count",
                           fmt::format("{} seen of {} dropped", count.seen, count.dropped),
                           "`dropped` is above 0, `seen` 0 or more");
    if (count.dropped > most_seeds)
        return usage_error("hand count", fmt::format("more than {} seeds dropped", most_seeds),
                           "check the counts");
    if (count.seen > count.dropped)
        return usage_error(
            "hand count",
            fmt::format("{} pulses from {} seeds: more than were dropped", count.seen,
                        count.dropped),
            "dust or a split pulse was counted as a seed; clean the seeds, or use a classifier");
    return *statistics::share_estimate(count.seen, count.dropped, 1.0, confidence);
}

Result<WeighingResult> efficiency_of(const Weighing& weighing, Confidence confidence) {
    if (const Status status = check(weighing); !status)
        return status.error();
    const double z = statistics::normal_quantile(1.0 - confidence.each_tail());
    const double seeds = weighing.mass_g / (weighing.thousand_g / 1000.0);
    const double relative_u = std::hypot(weighing.mass_u_g / weighing.mass_g,
                                         weighing.thousand_u_g / weighing.thousand_g);
    WeighingResult out;
    out.seeds_u = seeds * relative_u;
    out.seeds = {.value = seeds,
                 .interval = Interval{seeds - z * out.seeds_u, seeds + z * out.seeds_u},
                 .confidence = confidence,
                 .method = "mass / thousand-seed mass, JCGM 100, normal limits"};
    const double share = static_cast<double>(weighing.pulses) / seeds;
    // counting: binomial, at least as if one seed had been overlooked and one seen
    const double counted =
        std::clamp(share, std::min(0.5, 1.0 / seeds), std::max(0.5, 1.0 - 1.0 / seeds));
    out.efficiency_u = std::hypot(std::sqrt(counted * (1.0 - counted) / seeds), share * relative_u);
    out.efficiency = {
        .value = share,
        .interval = clipped(share, z * out.efficiency_u),
        .confidence = confidence,
        .method =
            "pulses / weighed seeds, JCGM 100 with binomial counting, normal limits cut to 0 … 1"};
    return out;
}

std::vector<Comparison> compare(const std::vector<Way>& ways) {
    std::vector<Comparison> out;
    for (std::size_t i = 0; i < ways.size(); ++i)
        for (std::size_t j = i + 1; j < ways.size(); ++j)
            if (ways[i].efficiency.interval && ways[j].efficiency.interval)
                out.push_back(compared(ways[i], ways[j]));
    return out;
}

} // namespace dropledger::calibration
