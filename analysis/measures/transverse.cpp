#include "analysis/measures/transverse.hpp"

#include "analysis/measures/block_moments.hpp"

namespace dropledger::measures {

std::optional<Transverse> transverse(std::span<const ChannelTotal> totals) {
    BlockMoments moments;
    for (const ChannelTotal& total : totals)
        moments.add(total.seeds);
    const auto sd = moments.sample_sd();
    if (!sd || !(moments.mean().value() > 0.0))
        return std::nullopt;
    const double mean = moments.mean().value();
    Transverse result{.mean_seeds = mean, .cv = *sd / mean, .channels = {}};
    for (const ChannelTotal& total : totals)
        result.channels.push_back(
            {total.channel, total.seeds, static_cast<double>(total.seeds) / mean - 1.0});
    return result;
}

} // namespace dropledger::measures
