// Are the entries of a run independent of each other? Their unbroken runs, counted, and the variance
// of block counts. (The test of the runs: rows.hpp.)
//
// Undefined when: only one kind of entry occurs, or fewer than two blocks: std::nullopt.
#pragma once

#include "analysis/statistics/shares/rows.hpp"

#include <bit>
#include <cstdint>
#include <optional>

namespace dropledger::statistics {

// A sequence of two kinds: how many of each, in how many unbroken runs.
struct RunCounts {
    std::int64_t first = 0;
    std::int64_t second = 0;
    std::int64_t runs = 0;
};

// Counts the runs of a stream, entry by entry or many at a time.
class RunCounter {
public:
    void add(bool is_first) { add(is_first ? 1 : 0, 1); }

    // The lowest `entries` bits, the oldest highest, 1 where an entry is of the first kind; 64 at
    // most.
    void add(std::uint64_t bits, int entries) {
        if (entries == 0)
            return;
        const bool oldest = (bits >> (entries - 1) & 1U) != 0;
        if (!before_)
            begins_with_first_ = oldest;
        const std::uint64_t changes =
            (bits ^ bits >> 1U) & ((std::uint64_t{1} << (entries - 1)) - 1);
        const int firsts = std::popcount(bits);
        counts_.first += firsts;
        counts_.second += entries - firsts;
        counts_.runs += std::popcount(changes) + (before_ == oldest ? 0 : 1);
        before_ = (bits & 1U) != 0;
    }
    [[nodiscard]] RunCounts counts() const { return counts_; }
    // The same as rows of the first kind.
    [[nodiscard]] RowCounts rows() const {
        if (!before_)
            return {};
        const std::int64_t ends = (begins_with_first_ ? 1 : 0) + (*before_ ? 1 : 0);
        return {.entries = counts_.first + counts_.second,
                .hits = counts_.first,
                .rows = (counts_.runs - 1 + ends) / 2,
                .begins_in_row = begins_with_first_,
                .ends_in_row = *before_};
    }
    [[nodiscard]] bool ends_with_first() const { return before_.value_or(false); }

private:
    RunCounts counts_;
    bool begins_with_first_ = false;
    std::optional<bool> before_;
};

// Counts of one kind of entry in consecutive blocks of one length.
struct BlockSums {
    std::int64_t blocks = 0;
    std::int64_t length = 0; // entries per block
    std::int64_t sum = 0;
    std::int64_t sum_squares = 0;
};

struct BlockTest {
    double share = 0.0;
    double chi_squared = 0.0;
    double degrees = 0.0;
    double inflation = 1.0;   // variance over binomial variance, as measured: may be below 1
    double p_clustered = 1.0; // P(chi-square larger)
    double p_even = 1.0;      // P(chi-square smaller)
};

[[nodiscard]] std::optional<BlockTest> block_variance_test(BlockSums sums);

} // namespace dropledger::statistics
