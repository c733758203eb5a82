// Notation of the sources: K = first, n = second, k = both.
#include "analysis/statistics/shares/capture_recapture.hpp"

#include "analysis/base/result.hpp"
#include "analysis/statistics/basics/distributions.hpp"
#include "analysis/statistics/shares/proportion.hpp"

#include <fmt/format.h>

#include <cmath>

namespace dropledger::statistics {

namespace {

struct Counts {
    double first = 0.0;
    double second = 0.0;
    double both = 0.0;
};

double chapman_variance(Counts c) {
    return (c.first + 1.0) * (c.second + 1.0) * (c.first - c.both) * (c.second - c.both) /
           ((c.both + 1.0) * (c.both + 1.0) * (c.both + 2.0));
}

// Least efficiency of a gate, given the least share that it sees of what the other sees, and the
// other of what it sees. By cells of the 2 × 2 table over the one of both: neither = odds · only
// one · only the other.
double least_efficiency(double of_other, double other_of_it, double odds) {
    if (!(of_other > 0.0) || !(other_of_it > 0.0))
        return 0.0;
    const double only_other = (1.0 - of_other) / of_other;
    const double only_it = (1.0 - other_of_it) / other_of_it;
    return (1.0 + only_it) / (1.0 + only_other + only_it + odds * only_other * only_it);
}

void widen(Recapture& result, double odds) {
    if (!result.first_efficiency || !result.second_efficiency)
        return;
    const double first = result.first_efficiency->interval->low;
    const double second = result.second_efficiency->interval->low;
    result.first_efficiency->interval->low = least_efficiency(first, second, odds);
    result.second_efficiency->interval->low = least_efficiency(second, first, odds);
}

std::string at_odds(double odds) {
    return odds > 1.0 ? fmt::format(", joint blindness up to odds {:g}", odds)
                      : ", gates independent";
}

std::string assumption(double odds) {
    if (odds > 1.0)
        return fmt::format("The intervals hold as long as a seed that one gate overlooks is "
                           "overlooked by the other with at most {:g} times the odds.",
                           odds);
    return "The gates are taken to overlook seeds independently: two gates alone cannot show "
           "whether what escapes one escapes the other more easily, and if so both are flattered.";
}

} // namespace

std::optional<Recapture> recapture(TwoObservers seen, Confidence confidence, double greatest_odds) {
    if (seen.both < 0 || seen.both > seen.first || seen.both > seen.second)
        throw BrokenInvariant("recapture: more matched pairs than seeds seen");
    if (!(greatest_odds >= 1.0))
        throw BrokenInvariant("recapture: odds of joint blindness below 1");
    if (seen.first + seen.second == 0)
        return std::nullopt;
    const Counts c{.first = static_cast<double>(seen.first),
                   .second = static_cast<double>(seen.second),
                   .both = static_cast<double>(seen.both)};
    const double z = normal_quantile(1.0 - confidence.each_tail());
    Recapture out;
    out.seeds = {.value = (c.first + 1.0) * (c.second + 1.0) / (c.both + 1.0) - 1.0,
                 .interval = fallen_limits(seen, confidence.each_tail(), greatest_odds),
                 .confidence = confidence,
                 .method = "Chapman, exact limits" + at_odds(greatest_odds)};
    if (!out.seeds.interval)
        out.seeds.no_interval = NoInterval::no_pair;
    out.standard_error = std::sqrt(chapman_variance(c));
    out.normal_limits = {.low = out.seeds.value - z * out.standard_error,
                         .high = out.seeds.value + z * out.standard_error};
    if (seen.both > 0)
        out.petersen = c.first * c.second / c.both;
    out.first_efficiency = share_estimate(seen.both, seen.second, 1.0, confidence);
    out.second_efficiency = share_estimate(seen.both, seen.first, 1.0, confidence);
    out.greatest_odds = greatest_odds;
    out.assumption = assumption(greatest_odds);
    for (auto* const efficiency : {&out.first_efficiency, &out.second_efficiency})
        if (*efficiency)
            (*efficiency)->method += at_odds(greatest_odds);
    if (greatest_odds > 1.0)
        widen(out, greatest_odds);
    return out;
}

} // namespace dropledger::statistics
