#include "analysis/audit/siblings.hpp"

#include "analysis/measures/number_words.hpp"

#include "analysis/statistics/comparison.hpp"
#include "analysis/statistics/multiplicity.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::audit {

using statistics::Group;
using statistics::Moments;

namespace {

using Channels = std::vector<const ChannelReport*>;

struct Comparison {
    std::size_t channel = 0; // place in the list
    std::string what;
    double p_value = 1.0;
    double apart = 0.0; // of its value from the median of all: breaks ties
    double adjusted_p = 1.0;
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

double greatest_inflation(const Channels& channels) {
    double inflation = 1.0;
    for (const ChannelReport* const channel : channels)
        inflation = std::max({inflation, channel->misses_independence.inflation,
                              channel->multiples_independence.inflation});
    return inflation;
}

template <class Value, class Of> std::vector<Value> each(const Channels& channels, Of of) {
    std::vector<Value> values;
    values.reserve(channels.size());
    for (const ChannelReport* const channel : channels)
        values.push_back(of(*channel));
    return values;
}

double value_of(const Group& group) {
    return group.n > 0 ? static_cast<double>(group.x) / static_cast<double>(group.n) : 0.0;
}
double value_of(const Moments& moments) {
    return moments.mean().value_or(0.0);
}

template <class Value> double median_of(const std::vector<Value>& all) {
    std::vector<double> values;
    values.reserve(all.size());
    for (const Value& one : all)
        values.push_back(value_of(one));
    std::sort(values.begin(), values.end());
    return values[values.size() / 2];
}

template <class Value>
void add(std::vector<Comparison>& all, const std::string& what, const std::vector<Value>& values,
         const std::vector<std::optional<double>>& p_values) {
    const double middle = median_of(values);
    for (std::size_t i = 0; i < p_values.size(); ++i)
        if (p_values[i])
            all.push_back({.channel = i,
                           .what = what,
                           .p_value = *p_values[i],
                           .apart = std::fabs(value_of(values[i]) - middle)});
}

void adjust(std::vector<Comparison>& all) {
    std::vector<double> p_values;
    p_values.reserve(all.size());
    for (const Comparison& comparison : all)
        p_values.push_back(comparison.p_value);
    const std::vector<double> adjusted = statistics::holm(p_values);
    for (std::size_t i = 0; i < all.size(); ++i)
        all[i].adjusted_p = adjusted[i];
}

std::vector<Comparison> comparisons(const Channels& channels) {
    const double inflation = greatest_inflation(channels);
    std::vector<Comparison> all;
    const auto misses = each<Group>(channels, misses_of);
    const auto multiples = each<Group>(channels, multiples_of);
    const auto places = each<Moments>(channels, places_of);
    const auto counts = each<Moments>(channels, counts_of);
    add(all, "share of misses", misses, statistics::each_against_rest(misses, inflation));
    add(all, "share of multiples", multiples, statistics::each_against_rest(multiples, inflation));
    add(all, "mean placement error", places, statistics::each_against_rest(places));
    add(all, "mean of seeds per segment", counts, statistics::each_against_rest(counts));
    adjust(all);
    return all;
}

void name(Siblings& siblings, const ChannelReport& channel, const Comparison& comparison) {
    if (std::find(siblings.unlike.begin(), siblings.unlike.end(), channel.channel) ==
        siblings.unlike.end())
        siblings.unlike.push_back(channel.channel);
    siblings.findings.push_back(
        fmt::format("Channel {} ({}): its {} differs from the others' (adjusted p: {}).",
                    channel.channel, channel.unit.empty() ? "no unit named" : channel.unit,
                    comparison.what, p_words(comparison.adjusted_p)));
}

// Names the channel that stands out most and returns it; nothing where none does.
const ChannelReport* take_most_unlike(Siblings& siblings, const Channels& channels) {
    const std::vector<Comparison> all = comparisons(channels);
    const auto most = std::min_element(all.begin(), all.end(), [](const auto& a, const auto& b) {
        return a.p_value != b.p_value ? a.p_value < b.p_value : a.apart > b.apart;
    });
    if (most == all.end() || most->adjusted_p > family_error)
        return nullptr;
    for (const Comparison& comparison : all)
        if (comparison.adjusted_p <= family_error &&
            (comparison.channel == most->channel || channels.size() == 2))
            name(siblings, *channels[comparison.channel], comparison);
    return channels[most->channel];
}

} // namespace

Siblings compare_siblings(const std::vector<ChannelReport>& channels) {
    Siblings siblings;
    if (channels.size() < 2) {
        siblings.method = "one channel: nothing to compare";
        return siblings;
    }
    siblings.method =
        fmt::format("each channel against all others: Fisher's exact test for shares, Welch's "
                    "for means, Holm over all, family-wise error {}; a channel found unlike "
                    "is taken out before the others are compared",
                    family_error);
    Channels left;
    for (const ChannelReport& channel : channels)
        left.push_back(&channel);
    while (const ChannelReport* const unlike = take_most_unlike(siblings, left)) {
        if (left.size() == 2)
            break;
        left.erase(std::find(left.begin(), left.end(), unlike));
    }
    std::sort(siblings.unlike.begin(), siblings.unlike.end());
    return siblings;
}

} // namespace dropledger::audit
