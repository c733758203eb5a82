// What a run says of a two-state Markov chain: the laws of the chances that a row of hits starts
// and ends, and of a share made from them. The arithmetic behind row_share.hpp.
#pragma once

#include "analysis/statistics/basics/distributions.hpp"
#include "analysis/statistics/shares/rows.hpp"

#include <vector>

namespace dropledger::statistics {

// Counts of the chain's steps; effective ones, not whole, where starts crowd.
struct ChainCounts {
    double starts = 0.0;
    double quiet = 0.0; // no start where one could have been
    double ends = 0.0;
    double stays = 0.0; // a hit that another one follows
};
[[nodiscard]] ChainCounts chain_counts(const RowCounts& counts, double crowding);

// The limit that a law is for: its priors stretch to that side.
enum class Side { lower, upper, isolated };

struct ChainLaw {
    BetaShape start;
    BetaShape end;
};
[[nodiscard]] ChainLaw chain_law(const ChainCounts& counts, Side side);

struct WeightedValue {
    double value = 0.0;
    double weight = 0.0;
};
// Values of a beta law by Gauss-Legendre over its probability, denser at both ends; weights sum
// to 1.
[[nodiscard]] std::vector<WeightedValue> spread_over(BetaShape shape);

// The law of share = a·m/(1 + a·m): a has the beta law `start`, m the values given.
class ShareLaw {
public:
    ShareLaw(BetaShape start, std::vector<WeightedValue> mean_lengths);

    [[nodiscard]] double chance_at_most(double share) const;
    [[nodiscard]] double quantile(double probability) const;

private:
    BetaShape start_;
    std::vector<WeightedValue> mean_lengths_;
};

// Rows of any length: m = 1/b.
[[nodiscard]] ShareLaw share_law(const ChainLaw& law);

} // namespace dropledger::statistics
