// Mean and standard deviation of a stream of whole numbers, with intervals that stay honest where
// neighbours depend on each other (two spacings share a landing) and where the values are not
// normal.
//
// Assumes: values come in the order of the run; dependence dies out within a block or so.
// Units: the values' own.
// Undefined when: fewer than two values (no sd), fewer than `fewest_blocks` full blocks (no
// block-based error; the caller falls back to a stated approximation).
// How: sums are exact integers; the sampling error of any smooth function of mean and variance is
// the spread of its linearised block sums (batch means), with Student's t on the blocks. Blocks
// grow with the run: two by two they become one whenever there are `most_blocks`, so that
// dependence over more values is seen in longer runs.
#pragma once

#include "analysis/base/wide.hpp"
#include "analysis/statistics/basics/estimate.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::measures {

class BlockMoments {
public:
    static constexpr std::int64_t shortest_block = 16;
    static constexpr std::size_t fewest_blocks = 12;
    static constexpr std::size_t most_blocks = 48;

    // Values are taken relative to `origin`, near which they should lie.
    explicit BlockMoments(std::int64_t origin = 0) : origin_(origin) {}

    void add(std::int64_t value) {
        const std::int64_t z = value - origin_;
        block_.sum += z;
        block_.squares += Wide{z} * z;
        if (++in_block_ == block_length_)
            close_block();
    }

    [[nodiscard]] std::int64_t count() const {
        return static_cast<std::int64_t>(blocks_.size()) * block_length_ + in_block_;
    }
    [[nodiscard]] std::optional<double> mean() const;
    [[nodiscard]] std::optional<double> sample_variance() const;
    [[nodiscard]] std::optional<double> sample_sd() const;

    [[nodiscard]] std::optional<statistics::Estimate> mean_estimate(Confidence confidence) const;
    // On the log scale, so that the interval stays above 0.
    [[nodiscard]] std::optional<statistics::Estimate> sd_estimate(Confidence confidence) const;

private:
    // Standard error of a statistic whose gradient is (by mean of z, by mean of z²), z = value −
    // origin.
    struct Gradient {
        double by_mean = 0.0;
        double by_square = 0.0;
    };
    struct Block { // sums of z and of z²
        Wide sum = 0;
        Wide squares = 0;
    };
    void close_block();
    void merge_blocks();
    [[nodiscard]] Block total() const;
    [[nodiscard]] long double variance_of_sums(Gradient gradient) const;
    [[nodiscard]] std::optional<double> standard_error(Gradient gradient) const;
    [[nodiscard]] double mean_z() const;
    [[nodiscard]] double t_quantile(Confidence confidence) const;

    std::int64_t origin_;
    std::int64_t block_length_ = shortest_block;
    std::int64_t in_block_ = 0;
    Block block_;
    std::vector<Block> blocks_; // full ones
};

} // namespace dropledger::measures
