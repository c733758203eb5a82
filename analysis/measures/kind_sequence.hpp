// One kind of outcome (a miss, a multiple) along the run: its share, and whether it comes independently.
//
// Assumes: outcomes are added in the order of the run.
// How: the runs test and the variance of block counts; where either says "not independent" at `test_level`, the
// share's interval is widened by the measured variance inflation (never narrowed). It is measured twice, and the
// larger counts: by the blocks, which see slow changes but are few in a short run, and by the number of runs,
// which gives the correlation r of neighbours and, where that fades geometrically, (1 + r)/(1 − r).
#pragma once

#include "analysis/statistics/estimate.hpp"
#include "analysis/statistics/independence.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::measures {

struct Independence {
    double runs_p = 1.0;     // two-sided
    double clustered_p = 1.0; // block counts vary more than binomial ones
    double inflation = 1.0;   // to apply: 1 where nothing speaks against independence
    bool holds = true;
};

class KindSequence {
public:
    static constexpr std::int64_t block_length = 50;
    static constexpr double test_level = 0.05;

    void add(bool is_kind) {
        runs_.add(is_kind);
        block_count_ += is_kind ? 1 : 0;
        if (++in_block_ == block_length)
            close_block();
    }

    [[nodiscard]] Independence independence() const;

private:
    void close_block();

    statistics::RunCounter runs_;
    statistics::BlockSums blocks_{.blocks = 0, .length = block_length, .sum = 0, .sum_squares = 0};
    std::int64_t in_block_ = 0;
    std::int64_t block_count_ = 0;
};

} // namespace dropledger::measures
