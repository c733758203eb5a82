#include "analysis/measures/kind_sequence.hpp"

#include <algorithm>

namespace dropledger::measures {

void KindSequence::add(bool is_kind) {
    ++count_;
    of_kind_ += is_kind ? 1 : 0;
    runs_.add(is_kind);
    block_count_ += is_kind ? 1 : 0;
    if (++in_block_ < block_length)
        return;
    ++blocks_.blocks;
    blocks_.sum += block_count_;
    blocks_.sum_squares += block_count_ * block_count_;
    in_block_ = block_count_ = 0;
}

Independence KindSequence::independence() const {
    Independence result;
    if (const auto runs = statistics::runs_test(runs_.counts()))
        result.runs_p = runs->p;
    const auto blocks = statistics::block_variance_test(blocks_);
    if (blocks)
        result.clustered_p = blocks->p_clustered;
    result.holds = result.runs_p >= test_level && result.clustered_p >= test_level;
    if (!result.holds && blocks)
        result.inflation = std::max(1.0, blocks->inflation);
    return result;
}

} // namespace dropledger::measures
