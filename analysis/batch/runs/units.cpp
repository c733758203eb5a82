#include "analysis/batch/runs/units.hpp"

#include "analysis/statistics/shares/proportion.hpp"

#include <algorithm>

namespace dropledger::batch {

namespace {

// Variance of the pooled share against independent entries: 1 + rho·(Σn²/Σn − 1), rho the
// intra-class correlation of the fit.
double inflation(std::span<const statistics::Group> units, double intra_class) {
    double entries = 0.0;
    double squares = 0.0;
    for (const statistics::Group& unit : units) {
        const auto n = static_cast<double>(unit.n);
        entries += n;
        squares += n * n;
    }
    return entries > 0.0 ? std::max(1.0, 1.0 + intra_class * (squares / entries - 1.0)) : 1.0;
}

} // namespace

UnitsResult compare_units(std::span<const statistics::Group> units, Share limit,
                          Confidence confidence) {
    UnitsResult result;
    result.tarone = statistics::tarone_test(units);
    result.fit = statistics::fit_beta_binomial(units);
    result.share_outside = statistics::share_of_units_above(units, limit, confidence);
    statistics::Group all;
    for (const statistics::Group& unit : units) {
        all.x += unit.x;
        all.n += unit.n;
    }
    result.pooled = statistics::share_estimate(
        all.x, all.n, result.fit ? inflation(units, result.fit->intra_class) : 1.0, confidence);
    return result;
}

} // namespace dropledger::batch
