#include "analysis/causes/block_series.hpp"

#include "analysis/statistics/distributions.hpp"

#include <algorithm>
#include <cmath>

namespace dropledger::causes {

BlockSeries::Block& BlockSeries::current() {
    if (used_ > 0 && blocks_[used_ - 1].steps < length_)
        return blocks_[used_ - 1];
    if (used_ == blocks) {
        for (std::size_t i = 0; i < blocks / 2; ++i) {
            const Block& a = blocks_[2 * i];
            const Block& b = blocks_[2 * i + 1];
            blocks_[i] = {a.sum + b.sum, a.count + b.count, a.steps + b.steps};
        }
        for (std::size_t i = blocks / 2; i < blocks; ++i)
            blocks_[i] = {};
        used_ = blocks / 2;
        length_ *= 2;
    }
    return blocks_[used_++];
}

void BlockSeries::add(double value) {
    Block& block = current();
    block.sum += value;
    ++block.count;
    ++block.steps;
}

void BlockSeries::skip() {
    ++current().steps;
}

std::optional<Trend> BlockSeries::trend() const {
    double weight = 0.0;
    double x_sum = 0.0;
    double y_sum = 0.0;
    std::size_t held = 0;
    for (std::size_t i = 0; i < used_; ++i) {
        const auto w = static_cast<double>(blocks_[i].count);
        weight += w;
        x_sum += w * static_cast<double>(i);
        y_sum += blocks_[i].sum;
        held += blocks_[i].count > 0 ? 1U : 0U;
    }
    if (held < least_blocks)
        return std::nullopt;
    const double x_mean = x_sum / weight;
    const double y_mean = y_sum / weight;
    double sxx = 0.0;
    double sxy = 0.0;
    double syy = 0.0;
    for (std::size_t i = 0; i < used_; ++i) {
        const Block& block = blocks_[i];
        if (block.count == 0)
            continue;
        const auto w = static_cast<double>(block.count);
        const double dx = static_cast<double>(i) - x_mean;
        const double dy = block.sum / w - y_mean;
        sxx += w * dx * dx;
        sxy += w * dx * dy;
        syy += w * dy * dy;
    }
    const double slope = sxy / sxx;
    const double left = std::max(0.0, syy - slope * sxy);
    const auto degrees = static_cast<double>(held - 2);
    const auto length = static_cast<double>(used_ - 1);
    Trend found{.from = y_mean - slope * x_mean,
                .change = slope * length,
                .error = std::sqrt(left / degrees / sxx) * length,
                .p_value = 1.0};
    if (left <= 0.0) // all on one line: a slope is beyond doubt, none is none
        found.p_value = slope == 0.0 ? 1.0 : 0.0;
    else
        found.p_value =
            2.0 * statistics::student_t_sf(std::abs(slope) / std::sqrt(left / degrees / sxx), degrees);
    return found;
}

Parts BlockSeries::parts() const {
    Parts sums;
    for (std::size_t i = 0; i < used_; ++i) {
        const bool early = 4 * i < used_;
        (early ? sums.first : sums.rest) += blocks_[i].sum;
        (early ? sums.first_count : sums.rest_count) += blocks_[i].count;
    }
    return sums;
}

} // namespace dropledger::causes
