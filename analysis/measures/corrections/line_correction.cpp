#include "analysis/measures/corrections/line_correction.hpp"

#include <algorithm>
#include <cmath>

namespace dropledger::measures {

using statistics::Estimate;
using statistics::Interval;

namespace {

constexpr double endless = 1e12;

// `undo`: the true quantity from the observed one and an efficiency.
template <class Undo>
std::optional<Corrected> undone(const std::optional<Estimate>& observed, const Estimate& efficiency,
                                Confidence confidence, Undo undo) {
    if (!observed || !observed->interval || !efficiency.interval || !(efficiency.value > 0.0))
        return std::nullopt;
    const double value = std::min(1.0, efficiency.value);
    const Interval limits = efficiency_limits(efficiency, confidence);
    Corrected out = in_quadrature(
        {.value = undo(observed->value, value),
         .counted = {undo(observed->interval->low, value), undo(observed->interval->high, value)},
         .gate = {undo(observed->value, limits.low), undo(observed->value, limits.high)}},
        {-endless, endless}, confidence);
    out.estimate.method =
        "thinning undone; the observed interval and the efficiency's in quadrature (JCGM 100)";
    return out;
}

} // namespace

CorrectedLine corrected_line(const LineResult& observed, const Estimate& efficiency,
                             Confidence confidence) {
    const double segment_m = static_cast<double>(observed.segment_um) / 1e6;
    const double a_segment = observed.mean_per_m ? observed.mean_per_m->value * segment_m : 0.0;
    CorrectedLine out;
    if (!(a_segment > 0.0))
        return out;
    const auto rate = [](double seen, double share) { return seen / share; };
    const auto error = [](double seen, double share) { return (1.0 + seen) / share - 1.0; };
    const auto dispersion = [](double seen, double share) {
        return std::max(0.0, 1.0 + (seen - 1.0) / share);
    };
    const auto cv = [&](double seen, double share) {
        return std::sqrt(std::max(0.0, seen * seen - (1.0 - share) / a_segment));
    };
    out.mean_per_m = undone(observed.mean_per_m, efficiency, confidence, rate);
    out.rate_error = undone(observed.rate_error, efficiency, confidence, error);
    out.dispersion_index = undone(observed.dispersion_index, efficiency, confidence, dispersion);
    out.cv = undone(observed.cv, efficiency, confidence, cv);
    return out;
}

} // namespace dropledger::measures
