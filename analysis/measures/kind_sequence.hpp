// One kind of outcome (a miss, a multiple) along the run: its share, and whether it comes
// independently.
//
// Assumes: outcomes are added in the order of the run.
// How: the share's interval is that of a two-state Markov chain (statistics/row_share.hpp). Two
// tests look for dependence, as one at `test_level`: are there fewer rows, or more, than chance
// makes of so many outcomes (exact), and do rows start more often in some blocks of the run than in
// others. Where the blocks differ beyond `crowding_level`, the chain counts their starts as fewer,
// by the measured variance inflation.
#pragma once

#include "analysis/statistics/basics/estimate.hpp"
#include "analysis/statistics/shares/independence.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::measures {

struct Independence {
    double runs_p = 1.0;      // two-sided, of the number of rows
    double clustered_p = 1.0; // starts in blocks vary more than binomial ones
    double p = 1.0;           // both tests as one (Bonferroni)
    // Where it does not hold: the interval's width over Clopper-Pearson's, squared, at least 1.
    double inflation = 1.0;
    bool holds = true;
};

class KindSequence {
public:
    static constexpr int block_length = 50;
    // A channel has two kinds, misses and multiples: together they speak up on 5 % of healthy
    // units at most.
    static constexpr double test_level = 0.05 / 2;
    static constexpr double crowding_level = 0.01;

    void add(bool is_kind) {
        block_ = block_ << 1U | (is_kind ? 1U : 0U);
        if (++in_block_ == block_length)
            close_block();
    }

    [[nodiscard]] statistics::RowCounts rows() const;
    // Variance inflation of the starts; 1 where blocks do not differ beyond chance.
    [[nodiscard]] double crowding() const;
    // Nothing in the run speaks for rows or for crowded starts: the share's interval is
    // Clopper-Pearson's.
    [[nodiscard]] bool is_plain() const { return rows().isolated() && crowding() <= 1.0; }
    // Rows were seen, and too few to know how many there are.
    [[nodiscard]] bool is_doubtful() const;
    [[nodiscard]] std::optional<statistics::Estimate> share(Confidence confidence) const;
    [[nodiscard]] Independence independence() const;

private:
    // The share that was asked for last: it takes milliseconds, and several ask for the same.
    struct Known {
        std::int64_t entries = 0;
        Confidence confidence;
        std::optional<statistics::Estimate> share;
    };

    void close_block();
    [[nodiscard]] std::optional<statistics::BlockTest> block_test() const;

    statistics::RunCounter runs_; // of the full blocks
    statistics::BlockSums starts_{.blocks = 0, .length = block_length, .sum = 0, .sum_squares = 0};
    // A bit for each outcome, the latest lowest: they are counted block by block
    std::uint64_t block_ = 0;
    int in_block_ = 0;
    mutable std::optional<Known> known_;
};

// What two kinds leave: `x` of `n`, and the shares of the two.
struct Rest {
    statistics::Estimate first;
    statistics::Estimate second;
    std::int64_t x = 0;
    std::int64_t n = 0;
};
// Clopper-Pearson where both kinds are plain, else by the intervals of the two.
[[nodiscard]] statistics::Estimate rest_of(const KindSequence& first, const KindSequence& second,
                                           const Rest& rest);

} // namespace dropledger::measures
