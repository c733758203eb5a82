#include "analysis/report/siblings.hpp"

#include "analysis/statistics/comparison.hpp"
#include "analysis/statistics/multiplicity.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::report {

using statistics::Group;
using statistics::Moments;

namespace {

struct Comparison {
    std::size_t channel = 0; // place in the list
    std::string what;
    double p_value = 1.0;
};

Group misses_of(const ChannelReport& channel) {
    return {channel.table.miss + channel.table.empty, channel.table.drops};
}

Group multiples_of(const ChannelReport& channel) {
    return {channel.table.multiple + channel.table.over, channel.table.drops};
}

Moments places_of(const ChannelReport& channel) {
    const auto landed = channel.table.drops - misses_of(channel).x;
    if (!channel.placement || !channel.placement->bias_mm || !channel.placement->sd_mm)
        return {};
    return Moments::of_summary(landed, channel.placement->bias_mm->value,
                               channel.placement->sd_mm->value);
}

Moments counts_of(const ChannelReport& channel) {
    if (!channel.line || !channel.line->dispersion)
        return {};
    return Moments::of_summary(channel.line->segments, channel.line->dispersion->mean,
                               std::sqrt(channel.line->dispersion->variance));
}

double greatest_inflation(const std::vector<ChannelReport>& channels) {
    double inflation = 1.0;
    for (const ChannelReport& channel : channels)
        inflation = std::max({inflation, channel.misses_independence.inflation,
                              channel.multiples_independence.inflation});
    return inflation;
}

template <class Value, class Of>
std::vector<Value> each(const std::vector<ChannelReport>& channels, Of of) {
    std::vector<Value> values;
    values.reserve(channels.size());
    for (const ChannelReport& channel : channels)
        values.push_back(of(channel));
    return values;
}

void add(std::vector<Comparison>& all, const std::string& what,
         const std::vector<std::optional<double>>& p_values) {
    for (std::size_t i = 0; i < p_values.size(); ++i)
        if (p_values[i])
            all.push_back({i, what, *p_values[i]});
}

std::vector<Comparison> comparisons(const std::vector<ChannelReport>& channels) {
    const double inflation = greatest_inflation(channels);
    std::vector<Comparison> all;
    add(all, "share of misses",
        statistics::each_against_rest(each<Group>(channels, misses_of), inflation));
    add(all, "share of multiples",
        statistics::each_against_rest(each<Group>(channels, multiples_of), inflation));
    add(all, "mean placement error",
        statistics::each_against_rest(each<Moments>(channels, places_of)));
    add(all, "seeds per segment", statistics::each_against_rest(each<Moments>(channels, counts_of)));
    return all;
}

} // namespace

Siblings compare_siblings(const std::vector<ChannelReport>& channels) {
    Siblings siblings;
    if (channels.size() < 2) {
        siblings.method = "one channel: nothing to compare";
        return siblings;
    }
    siblings.method = fmt::format("each channel against all others: Fisher's exact test for shares, Welch's "
                                  "for means, Holm over all, family-wise error {}",
                                  family_error);
    const std::vector<Comparison> all = comparisons(channels);
    std::vector<double> p_values;
    p_values.reserve(all.size());
    for (const Comparison& comparison : all)
        p_values.push_back(comparison.p_value);
    const std::vector<double> adjusted = statistics::holm(p_values);
    for (std::size_t i = 0; i < all.size(); ++i) {
        if (adjusted[i] > family_error)
            continue;
        const ChannelReport& channel = channels[all[i].channel];
        if (std::find(siblings.unlike.begin(), siblings.unlike.end(), channel.channel) ==
            siblings.unlike.end())
            siblings.unlike.push_back(channel.channel);
        siblings.findings.push_back(
            fmt::format("Channel {} ({}): its {} differs from the others' (adjusted p = {:.2g}).",
                        channel.channel, channel.unit.empty() ? "no unit named" : channel.unit,
                        all[i].what, adjusted[i]));
    }
    std::sort(siblings.unlike.begin(), siblings.unlike.end());
    return siblings;
}

} // namespace dropledger::report
