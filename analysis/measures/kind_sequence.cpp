#include "analysis/measures/kind_sequence.hpp"

#include <algorithm>
#include <bit>
#include <utility>

namespace dropledger::measures {

void KindSequence::close_block() {
    const std::int64_t count = std::popcount(block_);
    ++blocks_.blocks;
    blocks_.sum += count;
    blocks_.sum_squares += count * count;
    runs_.add(std::exchange(block_, 0), std::exchange(in_block_, 0));
}

statistics::RunCounts KindSequence::run_counts() const {
    statistics::RunCounter all = runs_;
    all.add(block_, in_block_);
    return all.counts();
}

namespace {

// Changes of kind from one entry to the next are n·2pq in expectation where entries are
// independent.
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
    const statistics::RunCounts counts = run_counts();
    if (const auto runs = statistics::runs_test(counts))
        result.runs_p = runs->p;
    const auto blocks = statistics::block_variance_test(blocks_);
    if (blocks)
        result.clustered_p = blocks->p_clustered;
    result.holds = result.runs_p >= test_level && result.clustered_p >= test_level;
    if (!result.holds)
        result.inflation = std::max(inflation_by_runs(counts), blocks ? blocks->inflation : 1.0);
    return result;
}

} // namespace dropledger::measures
