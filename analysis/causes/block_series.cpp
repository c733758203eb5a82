#include "analysis/causes/block_series.hpp"

#include "analysis/statistics/trend.hpp"

#include <algorithm>

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

// Weighted by how many values each block holds; x counts blocks.
struct BlockSeries::Sums {
    std::size_t held = 0; // blocks with a value
    double x_mean = 0.0;
    double y_mean = 0.0;
    double sxx = 0.0;
    double sxy = 0.0;
};

BlockSeries::Sums BlockSeries::sums() const {
    Sums sums;
    double weight = 0.0;
    for (std::size_t i = 0; i < used_; ++i) {
        const auto w = static_cast<double>(blocks_[i].count);
        weight += w;
        sums.x_mean += w * static_cast<double>(i);
        sums.y_mean += blocks_[i].sum;
        sums.held += blocks_[i].count > 0 ? 1U : 0U;
    }
    sums.x_mean /= std::max(weight, 1.0);
    sums.y_mean /= std::max(weight, 1.0);
    for (std::size_t i = 0; i < used_; ++i) {
        if (blocks_[i].count == 0)
            continue;
        const auto w = static_cast<double>(blocks_[i].count);
        const double dx = static_cast<double>(i) - sums.x_mean;
        const double dy = blocks_[i].sum / w - sums.y_mean;
        sums.sxx += w * dx * dx;
        sums.sxy += w * dx * dy;
    }
    return sums;
}

std::optional<Trend> BlockSeries::trend() const {
    const Sums all = sums();
    if (all.held < least_blocks)
        return std::nullopt;
    const double slope = all.sxy / all.sxx;
    const auto length = static_cast<double>(used_ - 1);
    Trend found{.from = all.y_mean - slope * all.x_mean,
                .change = slope * length,
                .error = 0.0,
                .p_value = slope == 0.0 ? 1.0 : 0.0};
    if (const auto law = statistics::SlopeLaw::of(means())) { // else all lie on one line
        found.error = law->standard_error() * length;
        found.p_value = law->p_value();
    }
    return found;
}

std::vector<double> BlockSeries::means() const {
    std::vector<double> held;
    for (std::size_t i = 0; i < used_; ++i)
        if (blocks_[i].count > 0)
            held.push_back(blocks_[i].sum / static_cast<double>(blocks_[i].count));
    return held;
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
