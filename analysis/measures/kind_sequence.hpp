// One kind of outcome (a miss, a multiple) along the run: its share, and whether it comes
// independently.
//
// Assumes: outcomes are added in the order of the run.
// How: the runs test and the variance of block counts; where either says "not independent" at
// `test_level`, the share's interval is widened by the measured variance inflation (never
// narrowed). It is measured twice, and the larger counts: by the blocks, which see slow changes but
// are few in a short run, and by the number of runs, which gives the correlation r of neighbours
// and, where that fades geometrically, (1 + r)/(1 − r).
#pragma once

#include "analysis/statistics/estimate.hpp"
#include "analysis/statistics/independence.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::measures {

struct Independence {
    double runs_p = 1.0;      // two-sided
    double clustered_p = 1.0; // block counts vary more than binomial ones
    double inflation = 1.0;   // to apply: 1 where nothing speaks against independence
    bool holds = true;
};

class KindSequence {
public:
    static constexpr int block_length = 50;
    static constexpr double test_level = 0.05;

    void add(bool is_kind) {
        block_ = block_ << 1U | (is_kind ? 1U : 0U);
        if (++in_block_ == block_length)
            close_block();
    }

    [[nodiscard]] Independence independence() const;

private:
    void close_block();

    [[nodiscard]] statistics::RunCounts run_counts() const;

    statistics::RunCounter runs_; // of the full blocks
    statistics::BlockSums blocks_{.blocks = 0, .length = block_length, .sum = 0, .sum_squares = 0};
    std::uint64_t block_ =
        0; // a bit for each outcome, the latest lowest: they are counted block by block
    int in_block_ = 0;
};

} // namespace dropledger::measures
