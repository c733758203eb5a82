#include "bench/virtual/unit/feed.hpp"

#include <algorithm>
#include <cmath>

namespace dropledger::bench_virtual {

namespace {

std::uint64_t burst_length(double mean, Random& random) {
    if (mean <= 1.0)
        return 1;
    const double ends_later = plain_log(1.0 - 1.0 / mean);
    return 1 +
           static_cast<std::uint64_t>(std::floor(plain_log(1.0 - random.uniform()) / ends_later));
}

} // namespace

Feed::Feed(const UnitSpec& unit, double speed_mps)
    : unit_(unit), speed_loss_(unit.fill_loss_per_mps * speed_mps) {
}

void Feed::begin(std::int64_t ordinal, Random& random) {
    ordinal_ = ordinal;
    if (bridged_ > 0)
        --bridged_;
    else if (random.chance(unit_.bridging.per_1000_drops / 1000.0))
        bridged_ = burst_length(unit_.bridging.mean_drops, random);
}

double Feed::fill() const {
    if (unit_.empty_from_drop >= 0 && ordinal_ >= unit_.empty_from_drop)
        return 0.0;
    double fill = unit_.fill;
    for (const auto& worn : unit_.worn_cells)
        if (unit_.cells > 0 && slot_ % unit_.cells == worn.cell)
            fill = worn.fill;
    if (bridged_ > 0)
        fill = std::min(fill, unit_.bridging.fill);
    if (ordinal_ < unit_.startup.drops)
        fill = std::min(fill, unit_.startup.fill);
    return std::max(fill - speed_loss_, 0.0);
}

std::uint32_t Feed::seeds_from_next_cell(Random& random) {
    const bool filled = random.chance(fill());
    const bool doubled = random.chance(unit_.doubles);
    ++slot_;
    return filled ? 1U + (doubled ? 1U : 0U) : 0U;
}

} // namespace dropledger::bench_virtual
