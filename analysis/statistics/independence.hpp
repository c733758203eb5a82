// Are the entries of a run independent of each other? The runs test and the variance of block
// counts.
//
// Undefined when: only one kind of entry occurs, or fewer than two blocks: std::nullopt.
// Source: Wald & Wolfowitz 1940; NIST/SEMATECH e-Handbook 1.3.5.13; exact law: Swed & Eisenhart
// 1943.
#pragma once

#include "analysis/statistics/rows.hpp"

#include <bit>
#include <cstdint>
#include <optional>
#include <span>

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

struct RunsTest {
    double expected = 0.0;
    double sd = 0.0;
    double z = 0.0;           // positive: too many runs (periodic), negative: too few (bursts)
    double p = 1.0;           // two-sided, normal, no correction
    double z_corrected = 0.0; // continuity correction 1/2 towards the mean
    double p_corrected = 1.0; // two-sided
    std::optional<double> exact_p_few;  // P(R <= runs); only up to exact_runs_limit entries
    std::optional<double> exact_p_many; // P(R >= runs)
};

constexpr std::int64_t exact_runs_limit = 400;

[[nodiscard]] std::optional<RunsTest> runs_test(RunCounts counts);

// P(R <= counts.runs) under a random order.
[[nodiscard]] double runs_cdf(RunCounts counts);

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

// r(lag) = sum (x_k - m)(x_{k-lag} - m) / sum (x - m)^2; undefined for lag >= n or values all
// equal.
[[nodiscard]] std::optional<double> autocorrelation(std::span<const double> values,
                                                    std::size_t lag);

} // namespace dropledger::statistics
