#include "analysis/measures/sensor_correction.hpp"

#include "analysis/statistics/distributions.hpp"
#include "analysis/statistics/proportion.hpp"

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
            (seen.single - 2.0 * seen.multiple * r) / efficiency, seen.multiple / (efficiency * efficiency)};
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

// The efficiency's interval at the confidence asked for, inside what an efficiency can be.
Interval efficiency_interval(const Estimate& efficiency, Confidence confidence) {
    constexpr double least = 1e-3;
    const auto z = [](Confidence c) { return statistics::normal_quantile(1.0 - c.each_tail()); };
    const double scale = z(confidence) / z(efficiency.confidence);
    const double value = std::min(1.0, efficiency.value);
    return {std::clamp(value - scale * (value - efficiency.interval->low), least, value),
            std::clamp(value + scale * (efficiency.interval->high - value), value, 1.0)};
}

class Correction {
public:
    Correction(Shares seen, double efficiency, Interval efficiencies, Confidence confidence)
        : seen_(seen), efficiency_(efficiency), efficiencies_(efficiencies), confidence_(confidence) {}

    // `counted`: the interval of the observed share.
    [[nodiscard]] Estimate of(double Shares::*share, Interval counted) const {
        const double value = thickened(seen_, efficiency_).*share;
        const auto off = [&](const Shares& seen, double efficiency) {
            return thickened(seen, efficiency).*share - value;
        };
        const double counts[] = {off(moved(seen_, share, counted.low), efficiency_),
                                 off(moved(seen_, share, counted.high), efficiency_)};
        const double gate[] = {off(seen_, efficiencies_.low), off(seen_, efficiencies_.high)};
        const double below = std::hypot(std::min({counts[0], counts[1], 0.0}), std::min({gate[0], gate[1], 0.0}));
        const double above = std::hypot(std::max({counts[0], counts[1], 0.0}), std::max({gate[0], gate[1], 0.0}));
        return {.value = std::clamp(value, 0.0, 1.0),
                .interval = Interval{std::clamp(value - below, 0.0, 1.0), std::clamp(value + above, 0.0, 1.0)},
                .confidence = confidence_,
                .method = "thinning undone; Clopper-Pearson and the efficiency's interval in quadrature (JCGM 100)"};
    }

private:
    Shares seen_;
    double efficiency_;
    Interval efficiencies_;
    Confidence confidence_;
};

} // namespace

std::optional<CorrectedShares> corrected_shares(const ObservedShares& observed, const Estimate& efficiency,
                                                Confidence confidence) {
    if (observed.drops <= 0 || !(efficiency.value > 0.0) || !efficiency.interval)
        return std::nullopt;
    const auto n = static_cast<double>(observed.drops);
    const std::int64_t singles = observed.drops - observed.miss - observed.multiple;
    const Shares seen{static_cast<double>(observed.miss) / n, static_cast<double>(singles) / n,
                      static_cast<double>(observed.multiple) / n};
    const Correction correction(seen, std::min(1.0, efficiency.value), efficiency_interval(efficiency, confidence),
                                confidence);
    const auto counted = [&](std::int64_t x, double inflation) {
        return statistics::clopper_pearson_inflated(x, observed.drops, inflation, confidence);
    };
    return CorrectedShares{
        .miss = correction.of(&Shares::miss, counted(observed.miss, observed.miss_inflation)),
        .single = correction.of(&Shares::single,
                                counted(singles, std::max(observed.miss_inflation, observed.multiple_inflation))),
        .multiple = correction.of(&Shares::multiple, counted(observed.multiple, observed.multiple_inflation))};
}

} // namespace dropledger::measures
