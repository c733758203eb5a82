#include "analysis/audit/siblings.hpp"

#include "analysis/measures/number_words.hpp"

#include "analysis/statistics/basics/multiplicity.hpp"
#include "analysis/statistics/shares/comparison.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

namespace dropledger::audit {

using statistics::Group;
using statistics::MeanLaw;

namespace {

using Channels = std::vector<const ChannelReport*>;

struct Comparison {
    std::size_t channel = 0; // place in the list
    std::string what;
    double p_value = 1.0;
    double apart = 0.0; // from the others: breaks ties
    bool worth_naming = false;
    double adjusted_p = 1.0;
};

// One kind of quantity over all channels.
struct Kind {
    std::string what;
    double least = 0.0; // difference worth naming
};

Group misses_of(const CommandedDrops& drops) {
    return {drops.table.miss + drops.table.empty, drops.table.drops};
}

Group multiples_of(const CommandedDrops& drops) {
    return {drops.table.multiple + drops.table.over, drops.table.drops};
}

double misses_inflation(const CommandedDrops& drops) {
    return drops.misses_independence.inflation;
}

double multiples_inflation(const CommandedDrops& drops) {
    return drops.multiples_independence.inflation;
}

double share_of(const Group& group) {
    return static_cast<double>(group.x) / static_cast<double>(group.n);
}

template <class Of, class Inflation>
void compare_shares(std::vector<Comparison>& all, const Channels& channels, const Kind& kind, Of of,
                    Inflation inflation_of) {
    Group together;
    double inflation = 1.0;
    for (const ChannelReport* const channel : channels) {
        const Group group = of(*channel->drops());
        together = {.x = together.x + group.x, .n = together.n + group.n};
        inflation = std::max(inflation, inflation_of(*channel->drops()));
    }
    for (std::size_t i = 0; i < channels.size(); ++i) {
        const Group group = of(*channels[i]->drops());
        const Group rest{.x = together.x - group.x, .n = together.n - group.n};
        const auto p = statistics::fisher_exact_p(group, rest, inflation);
        if (!p)
            continue;
        const double apart = std::fabs(share_of(group) - share_of(rest));
        all.push_back({.channel = i,
                       .what = kind.what,
                       .p_value = *p,
                       .apart = apart,
                       .worth_naming = apart >= kind.least});
    }
}

// A mean and what is known of it.
struct KnownMean {
    double value = 0.0;
    const MeanLaw* law = nullptr;
};

std::optional<KnownMean> place_of(const ChannelReport& channel) {
    const measures::PlacementResult* const placement = channel.placement();
    if (placement == nullptr || !placement->bias_law_um)
        return std::nullopt;
    return KnownMean{placement->bias_mm->value * 1000.0, &*placement->bias_law_um};
}

std::optional<KnownMean> count_of(const ChannelReport& channel) {
    const measures::LineResult* const line = channel.line();
    if (line == nullptr || !line->mean_law)
        return std::nullopt;
    return KnownMean{line->dispersion ? line->dispersion->mean : 0.0, &*line->mean_law};
}

// `relative`: the least difference is a share of the others' mean.
template <class Of>
void compare_means(std::vector<Comparison>& all, const Channels& channels, const Kind& kind,
                   bool relative, Of of) {
    std::vector<std::pair<std::size_t, KnownMean>> known;
    double sum = 0.0;
    double squares = 0.0; // of standard errors
    for (std::size_t i = 0; i < channels.size(); ++i)
        if (const auto mean = of(*channels[i])) {
            known.emplace_back(i, *mean);
            sum += mean->value;
            squares += mean->law->standard_error() * mean->law->standard_error();
        }
    if (known.size() < 2)
        return;
    const auto others = static_cast<double>(known.size() - 1);
    for (const auto& [i, mean] : known) {
        const double rest = (sum - mean.value) / others;
        const double own = mean.law->standard_error();
        const double u_rest = std::sqrt(std::max(0.0, squares - own * own)) / others;
        const double apart = std::fabs(mean.value - rest);
        const double least = relative ? kind.least * std::fabs(rest) : kind.least;
        all.push_back({.channel = i,
                       .what = kind.what,
                       .p_value = mean.law->beyond(apart, u_rest),
                       .apart = apart,
                       .worth_naming = apart >= least});
    }
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

std::vector<Comparison> comparisons(const Channels& channels,
                                    const verdict::SiblingDifference& least) {
    std::vector<Comparison> all;
    if (channels.front()->drops() == nullptr) {
        compare_means(all, channels, {"mean of seeds per segment", least.share}, true, count_of);
    } else {
        compare_shares(all, channels, {"share of misses", least.share}, misses_of,
                       misses_inflation);
        compare_shares(all, channels, {"share of multiples", least.share}, multiples_of,
                       multiples_inflation);
        compare_means(all, channels, {"mean placement error", least.mm * 1000.0}, false, place_of);
    }
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

bool stands_out(const Comparison& comparison) {
    return comparison.worth_naming && comparison.adjusted_p <= family_error;
}

// Names the channel that stands out most and returns it; nothing where none does.
const ChannelReport* take_most_unlike(Siblings& siblings, const Channels& channels,
                                      const verdict::SiblingDifference& least) {
    const std::vector<Comparison> all = comparisons(channels, least);
    const auto most = std::min_element(all.begin(), all.end(), [](const auto& a, const auto& b) {
        if (stands_out(a) != stands_out(b))
            return stands_out(a);
        return a.p_value != b.p_value ? a.p_value < b.p_value : a.apart > b.apart;
    });
    if (most == all.end() || !stands_out(*most))
        return nullptr;
    for (const Comparison& comparison : all)
        if (stands_out(comparison) && (comparison.channel == most->channel || channels.size() == 2))
            name(siblings, *channels[comparison.channel], comparison);
    return channels[most->channel];
}

} // namespace

Siblings compare_siblings(const std::vector<ChannelReport>& channels,
                          const verdict::SiblingDifference& least) {
    Siblings siblings;
    if (channels.size() < 2) {
        siblings.method = "one channel: nothing to compare";
        return siblings;
    }
    const bool line = channels.front().line() != nullptr;
    siblings.method = fmt::format(
        "each channel against all others: Fisher's exact test for shares, Student's t for means, "
        "both with the measured dependence of neighbours; Holm over all, family-wise error {}; "
        "named from a difference of {} of the {}{} on; a channel found unlike is taken out before "
        "the others are compared",
        family_error, least.share, line ? "rate" : "drops",
        line ? "" : fmt::format(" or {} mm", least.mm));
    Channels left;
    for (const ChannelReport& channel : channels)
        left.push_back(&channel);
    while (const ChannelReport* const unlike = take_most_unlike(siblings, left, least)) {
        if (left.size() == 2)
            break;
        left.erase(std::find(left.begin(), left.end(), unlike));
    }
    std::sort(siblings.unlike.begin(), siblings.unlike.end());
    return siblings;
}

} // namespace dropledger::audit
