// Notation: k pairs, n1 and n2 seen by the gates, N fell. Weights of the law over their weight at
// the pairs seen: w(j + 1)/w(j) = odds · (n1 − j)(n2 − j) / ((j + 1)(N − n1 − n2 + j + 1)).
#include "analysis/statistics/shares/matched_pairs.hpp"

#include <algorithm>

namespace dropledger::statistics {

namespace {

constexpr double negligible = 1e-17;
constexpr double overwhelming = 1e200; // times what was seen: it lies far out in its tail

struct Law {
    double first;
    double second;
    double fell;
    double odds;

    [[nodiscard]] double ratio(double pairs) const {
        return odds * (first - pairs) * (second - pairs) /
               ((pairs + 1.0) * (fell - first - second + pairs + 1.0));
    }
};

// Sum of the weights beyond the pairs seen, going up (step 1) or down.
double weight_beyond(const Law& law, double pairs, double step) {
    double sum = 0.0;
    double weight = 1.0;
    for (double at = pairs;; at += step) {
        const double factor = step > 0.0 ? law.ratio(at) : 1.0 / law.ratio(at - 1.0);
        weight *= factor;
        sum += weight;
        const bool fades = factor < 1.0 && weight < negligible * (1.0 + sum);
        if (!(weight > 0.0) || fades || sum > overwhelming)
            return sum;
    }
}

// The last at which `holds`, which holds at `low` and from somewhere on no more.
template <class Holds> double last_of(double low, const Holds& holds) {
    double step = 1.0;
    while (holds(low + step)) {
        low += step;
        step *= 2.0;
    }
    for (; step >= 1.0; step /= 2.0)
        if (holds(low + step))
            low += step;
    return low;
}

} // namespace

MatchedTails matched_tails(const TwoObservers& seen, double fell, double odds) {
    const Law law{static_cast<double>(seen.first), static_cast<double>(seen.second), fell, odds};
    const auto pairs = static_cast<double>(seen.both);
    const bool is_most = seen.both == std::min(seen.first, seen.second);
    const double more = is_most ? 0.0 : weight_beyond(law, pairs, 1.0);
    const double fewer = weight_beyond(law, pairs, -1.0);
    const double all = 1.0 + more + fewer;
    return {.at_most = (1.0 + fewer) / all, .at_least = (1.0 + more) / all};
}

std::optional<Interval> fallen_limits(const TwoObservers& seen, double each_tail,
                                      double greatest_odds) {
    if (seen.both <= 0)
        return std::nullopt;
    const auto too_few_pairs = [&](double fell) {
        return matched_tails(seen, fell, 1.0).at_most <= each_tail;
    };
    const auto enough_pairs = [&](double fell) {
        return matched_tails(seen, fell, greatest_odds).at_least > each_tail;
    };
    const auto least = static_cast<double>(seen.seen());
    const double low = too_few_pairs(least) ? last_of(least, too_few_pairs) + 1.0 : least;
    return Interval{.low = low, .high = last_of(low, enough_pairs)};
}

} // namespace dropledger::statistics
