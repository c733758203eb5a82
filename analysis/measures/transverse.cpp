#include "analysis/measures/transverse.hpp"

#include <algorithm>
#include <cmath>

namespace dropledger::measures {

using statistics::Estimate;
using statistics::Interval;

namespace {

// Σ (h_j/k)² over all channels, and whether every rate has an interval.
struct Spread {
    bool known = true;
    double squares = 0.0;
};

double half_width(const ChannelRate& rate) {
    return (rate.per_m->interval->high - rate.per_m->interval->low) / 2.0;
}

Spread spread_of(const std::vector<ChannelRate>& rates) {
    Spread spread;
    for (const ChannelRate& rate : rates) {
        if (!rate.per_m->interval) {
            spread.known = false;
            return spread;
        }
        spread.squares += half_width(rate) * half_width(rate);
    }
    return spread;
}

// d = y_i/ȳ − 1 with y_i in ȳ too: weight 1 − 1/k on the own rate, 1/k on each other one.
Estimate deviation(const ChannelRate& rate, double mean, double k, const Spread& spread,
                   Confidence confidence) {
    Estimate estimate{rate.per_m->value / mean - 1.0, std::nullopt, confidence,
                      "rate over the channels' mean"};
    if (!spread.known)
        return estimate;
    const double own = half_width(rate) * half_width(rate);
    const double weight = 1.0 - 1.0 / k;
    const double half =
        std::sqrt(weight * weight * own + (spread.squares - own) / (k * k)) / mean;
    estimate.interval = Interval{estimate.value - half, estimate.value + half};
    estimate.method += ", half-widths in quadrature";
    return estimate;
}

} // namespace

std::optional<TransverseResult> transverse(const std::vector<ChannelRate>& rates,
                                           Confidence confidence) {
    const bool complete = std::all_of(rates.begin(), rates.end(),
                                      [](const ChannelRate& rate) { return bool(rate.per_m); });
    if (rates.size() < 2 || !complete)
        return std::nullopt;
    const auto k = static_cast<double>(rates.size());
    double sum = 0.0;
    for (const ChannelRate& rate : rates)
        sum += rate.per_m->value;
    if (!(sum > 0.0))
        return std::nullopt;
    TransverseResult result;
    result.mean_per_m = sum / k;
    double squares = 0.0;
    const Spread spread = spread_of(rates);
    for (const ChannelRate& rate : rates) {
        squares += std::pow(rate.per_m->value - result.mean_per_m, 2);
        result.channels.push_back(
            {rate.channel, rate.seeds, deviation(rate, result.mean_per_m, k, spread, confidence)});
    }
    result.cv = {std::sqrt(squares / (k - 1.0)) / result.mean_per_m, std::nullopt, confidence,
                 "standard deviation over mean of the channels' rates"};
    return result;
}

} // namespace dropledger::measures
