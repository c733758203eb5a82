#include "analysis/measures/corrections/sensor_correction.hpp"

#include "analysis/statistics/basics/distributions.hpp"
#include "analysis/statistics/shares/proportion.hpp"

#include <algorithm>
#include <cmath>

namespace dropledger::measures {

using statistics::Estimate;
using statistics::Interval;

namespace {

struct Shares {
    double miss = 0.0;
    double single = 0.0;
    double multiple = 0.0;
};

Shares thickened(const Shares& seen, double efficiency) {
    const double r = (1.0 - efficiency) / efficiency;
    return {seen.miss - seen.single * r + seen.multiple * r * r,
            (seen.single - 2.0 * seen.multiple * r) / efficiency,
            seen.multiple / (efficiency * efficiency)};
}

// One share moved to `value`, the other two keeping their ratio.
Shares moved(Shares seen, double Shares::*share, double value) {
    const double others = 1.0 - seen.*share;
    const double scale = others > 0.0 ? (1.0 - value) / others : 0.0;
    Shares out{seen.miss * scale, seen.single * scale, seen.multiple * scale};
    out.*share = value;
    if (!(others > 0.0))
        (share == &Shares::single ? out.miss : out.single) = 1.0 - value;
    return out;
}

class Correction {
public:
    Correction(Shares seen, double efficiency, Interval efficiencies, Confidence confidence)
        : seen_(seen), efficiency_(efficiency), efficiencies_(efficiencies),
          confidence_(confidence) {}

    // `counted`: the interval of the observed share.
    [[nodiscard]] Corrected of(double Shares::*share, Interval counted) const {
        const auto at = [&](const Shares& seen, double efficiency) {
            return thickened(seen, efficiency).*share;
        };
        Corrected out =
            in_quadrature({.value = at(seen_, efficiency_),
                           .counted = {at(moved(seen_, share, counted.low), efficiency_),
                                       at(moved(seen_, share, counted.high), efficiency_)},
                           .gate = {at(seen_, efficiencies_.low), at(seen_, efficiencies_.high)}},
                          {0.0, 1.0}, confidence_);
        out.estimate.method = "thinning undone; Clopper-Pearson and the efficiency's interval in "
                              "quadrature (JCGM 100)";
        return out;
    }

private:
    Shares seen_;
    double efficiency_;
    Interval efficiencies_;
    Confidence confidence_;
};

Interval widened(Interval interval, const std::optional<Interval>& by) {
    return by ? Interval{std::min(interval.low, by->low), std::max(interval.high, by->high)}
              : interval;
}

} // namespace

namespace {

// Least k whose chance of at most k overlooked ones, before `seen` were seen, reaches this.
double overlooked_quantile(double probability, double seen, double efficiency) {
    if (!(efficiency < 1.0))
        return 0.0;
    double high = 1.0;
    const auto reached = [&](double k) {
        return statistics::beta_cdf(efficiency, {.a = seen, .b = k + 1.0}) >= probability;
    };
    while (!reached(high))
        high *= 2.0;
    double low = -1.0;
    while (high - low > 1.0) {
        const double middle = std::floor((low + high) / 2.0);
        (reached(middle) ? high : low) = middle;
    }
    return high;
}

} // namespace

std::optional<Interval> empty_drops(const ObservedShares& observed, const Estimate& efficiency,
                                    Confidence confidence) {
    const std::int64_t singles = observed.drops - observed.miss - observed.multiple;
    if (singles <= 0 || !efficiency.interval || !(efficiency.value > 0.0))
        return std::nullopt;
    const auto seen = static_cast<double>(singles);
    const Interval limits = efficiency_limits(efficiency, confidence);
    const auto expected = [&](double share) { return seen * (1.0 - share) / share; };
    const double at = std::min(1.0, efficiency.value);
    const double middle = expected(at);
    const double tail = confidence.each_tail();
    const double down =
        std::hypot(middle - overlooked_quantile(tail, seen, at), middle - expected(limits.high));
    const double up = std::hypot(overlooked_quantile(1.0 - tail, seen, at) - middle,
                                 expected(limits.low) - middle);
    const auto silent = static_cast<double>(observed.miss);
    const auto left = [&](double overlooked) {
        return std::clamp(std::round(silent - overlooked), 0.0, silent);
    };
    return Interval{left(middle + up), left(middle - down)};
}

Interval efficiency_limits(const Estimate& efficiency, Confidence confidence) {
    constexpr double least = 1e-3;
    const auto z = [](Confidence c) { return statistics::normal_quantile(1.0 - c.each_tail()); };
    const double scale = z(confidence) / z(efficiency.confidence);
    const double value = std::min(1.0, efficiency.value);
    return {std::clamp(value - scale * (value - efficiency.interval->low), least, value),
            std::clamp(value + scale * (efficiency.interval->high - value), value, 1.0)};
}

Corrected in_quadrature(const Ends& ends, Interval possible, Confidence confidence) {
    const auto held = [&](double x) { return std::clamp(x, possible.low, possible.high); };
    const auto below = [&](std::initializer_list<double> at) {
        return ends.value - std::min(ends.value, std::min(at));
    };
    const auto above = [&](std::initializer_list<double> at) {
        return std::max(ends.value, std::max(at)) - ends.value;
    };
    const double down = std::hypot(below(ends.counted), below(ends.gate));
    const double up = std::hypot(above(ends.counted), above(ends.gate));
    constexpr double beyond_chance = 3.29; // 99.9 %, both sides
    const double far = beyond_chance / statistics::normal_quantile(1.0 - confidence.each_tail());
    const double value = held(ends.value);
    return {.estimate = {.value = value,
                         .interval = Interval{held(value - down), held(value + up)},
                         .confidence = confidence,
                         .method = {}},
            .endless = {held(value - below(ends.gate)), held(value + above(ends.gate))},
            .contradicted =
                ends.value + far * up < possible.low || ends.value - far * down > possible.high};
}

std::optional<CorrectedShares> corrected_shares(const ObservedShares& observed,
                                                const Estimate& efficiency, Confidence confidence) {
    if (observed.drops <= 0 || !(efficiency.value > 0.0) || !efficiency.interval)
        return std::nullopt;
    const auto n = static_cast<double>(observed.drops);
    const std::int64_t singles = observed.drops - observed.miss - observed.multiple;
    const Shares seen{static_cast<double>(observed.miss) / n, static_cast<double>(singles) / n,
                      static_cast<double>(observed.multiple) / n};
    const Correction correction(seen, std::min(1.0, efficiency.value),
                                efficiency_limits(efficiency, confidence), confidence);
    const auto counted = [&](std::int64_t x, double inflation) {
        return statistics::clopper_pearson_inflated(x, observed.drops, inflation, confidence);
    };
    return CorrectedShares{
        .miss =
            correction.of(&Shares::miss, widened(counted(observed.miss, observed.miss_inflation),
                                                 observed.miss_no_narrower)),
        .single = correction.of(
            &Shares::single,
            counted(singles, std::max(observed.miss_inflation, observed.multiple_inflation))),
        .multiple = correction.of(&Shares::multiple,
                                  widened(counted(observed.multiple, observed.multiple_inflation),
                                          observed.multiple_no_narrower))};
}

} // namespace dropledger::measures
