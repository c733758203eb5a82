#include "analysis/measures/kind_sequence.hpp"

#include <algorithm>

namespace dropledger::measures {

void KindSequence::close_block() {
    ++blocks_.blocks;
    blocks_.sum += block_count_;
    blocks_.sum_squares += block_count_ * block_count_;
    in_block_ = block_count_ = 0;
}

namespace {

// Changes of kind from one entry to the next are n·2pq in expectation where entries are independent.
double inflation_by_runs(const statistics::RunCounts& counts) {
    const auto first = static_cast<double>(counts.first);
    const auto second = static_cast<double>(counts.second);
    const double n = first + second;
    if (first < 1.0 || second < 1.0)
        return 1.0;
    const double expected = (n - 1.0) * 2.0 * (first / n) * (second / n);
    const double correlation = 1.0 - static_cast<double>(counts.runs - 1) / expected;
    return correlation > 0.0 ? (1.0 + correlation) / (1.0 - correlation) : 1.0;
}

} // namespace

Independence KindSequence::independence() const {
    Independence result;
    if (const auto runs = statistics::runs_test(runs_.counts()))
        result.runs_p = runs->p;
    const auto blocks = statistics::block_variance_test(blocks_);
    if (blocks)
        result.clustered_p = blocks->p_clustered;
    result.holds = result.runs_p >= test_level && result.clustered_p >= test_level;
    if (!result.holds)
        result.inflation = std::max(inflation_by_runs(runs_.counts()), blocks ? blocks->inflation : 1.0);
    return result;
}

} // namespace dropledger::measures
