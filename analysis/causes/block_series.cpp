#include "analysis/causes/block_series.hpp"

#include "analysis/statistics/basics/distributions.hpp"
#include "analysis/statistics/trends/trend.hpp"

#include <algorithm>
#include <cmath>
#include <span>

namespace dropledger::causes {

BlockSeries::Block& BlockSeries::current() {
    if (used_ > 0 && blocks_[used_ - 1].steps < length_)
        return blocks_[used_ - 1];
    if (used_ == blocks)
        halve();
    blocks_[used_].part = part_;
    return blocks_[used_++];
}

void BlockSeries::halve() {
    for (std::size_t i = 0; i < blocks / 2; ++i) {
        const Block& a = blocks_[2 * i];
        const Block& b = blocks_[2 * i + 1];
        blocks_[i] = {a.sum + b.sum, a.count + b.count, a.steps + b.steps,
                      a.part == b.part ? a.part : shared};
    }
    for (std::size_t i = blocks / 2; i < blocks; ++i)
        blocks_[i] = {};
    used_ = blocks / 2;
    length_ *= 2;
}

void BlockSeries::begin_part() {
    ++part_;
    if (used_ > 0)
        blocks_[used_ - 1].steps = length_; // full: the next step begins another block
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
    std::size_t parts = 0;
    double weight = 0.0;
    double x = 0.0;
    double y = 0.0;
    double sxx = 0.0; // about each part's own means
    double sxy = 0.0;
};

void BlockSeries::add_part(std::size_t begin, std::size_t end, Sums& sums) const {
    double weight = 0.0;
    double x = 0.0;
    double y = 0.0;
    std::size_t held = 0;
    for (std::size_t i = begin; i < end; ++i) {
        const auto w = static_cast<double>(blocks_[i].count);
        weight += w;
        x += w * static_cast<double>(i);
        y += blocks_[i].sum;
        held += blocks_[i].count > 0 ? 1U : 0U;
    }
    if (held == 0)
        return;
    for (std::size_t i = begin; i < end; ++i) {
        if (blocks_[i].count == 0)
            continue;
        const auto w = static_cast<double>(blocks_[i].count);
        const double dx = static_cast<double>(i) - x / weight;
        const double dy = blocks_[i].sum / w - y / weight;
        sums.sxx += w * dx * dx;
        sums.sxy += w * dx * dy;
    }
    ++sums.parts;
    sums.held += held;
    sums.weight += weight;
    sums.x += x;
    sums.y += y;
}

BlockSeries::Sums BlockSeries::sums() const {
    Sums sums;
    for (std::size_t begin = 0; begin < used_;) {
        std::size_t end = begin + 1;
        while (end < used_ && blocks_[end].part == blocks_[begin].part)
            ++end;
        if (blocks_[begin].part != shared)
            add_part(begin, end, sums);
        begin = end;
    }
    return sums;
}

std::optional<Trend> BlockSeries::trend() const {
    const Sums all = sums();
    if (all.held + 1 < least_blocks + all.parts || all.sxx <= 0.0)
        return std::nullopt;
    const double slope = all.sxy / all.sxx;
    const auto length = static_cast<double>(used_ - 1);
    Trend found{.from = (all.y - slope * all.x) / all.weight,
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
    std::vector<double> longest;
    for (std::size_t begin = 0; begin < used_;) {
        std::vector<double> held;
        std::size_t end = begin;
        for (; end < used_ && blocks_[end].part == blocks_[begin].part; ++end)
            if (blocks_[end].count > 0)
                held.push_back(blocks_[end].sum / static_cast<double>(blocks_[end].count));
        if (blocks_[begin].part != shared && held.size() > longest.size())
            longest = std::move(held);
        begin = end;
    }
    return longest;
}

namespace {

struct Level {
    double mean = 0.0;
    double squared_error = 0.0; // of the mean
};

Level level_of(std::span<const double> values) {
    const auto n = static_cast<double>(values.size());
    Level level;
    for (const double value : values)
        level.mean += value / n;
    for (const double value : values)
        level.squared_error += (value - level.mean) * (value - level.mean) / (n * (n - 1.0));
    return level;
}

} // namespace

std::optional<Trend> BlockSeries::step() const {
    constexpr std::size_t fewest = 16;
    constexpr double places = 3.0; // looked at
    const std::vector<double> all = means();
    if (all.size() < fewest)
        return std::nullopt;
    std::optional<Trend> found;
    for (std::size_t quarters = 1; quarters <= 3; ++quarters) {
        const std::size_t before = quarters * all.size() / 4;
        const Level first = level_of(std::span{all}.first(before));
        const Level last = level_of(std::span{all}.subspan(before));
        const double error = std::sqrt(first.squared_error + last.squared_error);
        const double change = last.mean - first.mean;
        if (!(error > 0.0) ||
            (found && std::abs(change / error) <= std::abs(found->change / found->error)))
            continue;
        // As few degrees of freedom as the smaller part leaves
        const double degrees = static_cast<double>(std::min(before, all.size() - before)) - 1.0;
        const double p = 2.0 * statistics::student_t_sf(std::abs(change) / error, degrees);
        found = Trend{.from = first.mean,
                      .change = change,
                      .error = error,
                      .p_value = std::min(1.0, places * p)};
    }
    return found;
}

Parts BlockSeries::parts(int quarters) const {
    Parts sums;
    for (std::size_t i = 0; i < used_; ++i) {
        const bool early = 4 * i < static_cast<std::size_t>(quarters) * used_;
        (early ? sums.first : sums.rest) += blocks_[i].sum;
        (early ? sums.first_count : sums.rest_count) += blocks_[i].count;
    }
    return sums;
}

} // namespace dropledger::causes
