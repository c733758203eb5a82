#include "analysis/measures/kind_sequence.hpp"

#include "analysis/statistics/shares/proportion.hpp"
#include "analysis/statistics/shares/row_share.hpp"

#include <algorithm>
#include <bit>
#include <utility>

namespace dropledger::measures {

void KindSequence::close_block() {
    const std::uint64_t before = runs_.ends_with_first() ? 1U : 0U;
    const std::uint64_t previous = block_ >> 1U | before << (block_length - 1);
    const std::int64_t starts = std::popcount(block_ & ~previous);
    ++starts_.blocks;
    starts_.sum += starts;
    starts_.sum_squares += starts * starts;
    runs_.add(std::exchange(block_, 0), std::exchange(in_block_, 0));
}

statistics::RowCounts KindSequence::rows() const {
    statistics::RunCounter all = runs_;
    all.add(block_, in_block_);
    return all.rows();
}

// Chi-square needs a start a block on average.
std::optional<statistics::BlockTest> KindSequence::block_test() const {
    return starts_.sum >= starts_.blocks ? statistics::block_variance_test(starts_) : std::nullopt;
}

double KindSequence::crowding() const {
    const auto blocks = block_test();
    return blocks && blocks->p_clustered < crowding_level ? std::max(1.0, blocks->inflation) : 1.0;
}

bool KindSequence::is_doubtful() const {
    return !is_plain() && rows().rows < statistics::fewest_rows;
}

std::optional<statistics::Estimate> KindSequence::share(Confidence confidence) const {
    const statistics::RowCounts counts = rows();
    const bool known = known_ && known_->entries == counts.entries &&
                       known_->confidence.level() == confidence.level();
    if (!known)
        known_ = Known{counts.entries, confidence,
                       statistics::row_share(counts, crowding(), confidence)};
    return known_->share;
}

Independence KindSequence::independence() const {
    Independence result;
    const statistics::RowCounts counts = rows();
    const bool most_are = 2 * counts.hits > counts.entries;
    if (const auto test = statistics::rows_test(most_are ? counts.others() : counts))
        result.runs_p = test->two_sided();
    if (const auto blocks = block_test())
        result.clustered_p = blocks->p_clustered;
    result.p = std::min(1.0, 2.0 * std::min(result.runs_p, result.clustered_p));
    result.holds = result.p >= test_level;
    if (result.holds)
        return result;
    const Confidence usual{0.95};
    if (const auto seen = share(usual))
        result.inflation =
            statistics::variance_inflation(*seen->interval, counts.hits, counts.entries, usual);
    return result;
}

statistics::Estimate rest_of(const KindSequence& first, const KindSequence& second,
                             const Rest& rest) {
    const auto sum = first.is_doubtful() || second.is_doubtful() ? statistics::Sum::in_full
                                                                 : statistics::Sum::in_quadrature;
    auto by_parts = statistics::rest_of_one(rest.first, rest.second, sum);
    if (!first.is_plain() || !second.is_plain())
        return by_parts;
    auto plain = *statistics::share_estimate(rest.x, rest.n, 1.0, rest.first.confidence);
    plain.events = by_parts.events;
    return plain;
}

} // namespace dropledger::measures
