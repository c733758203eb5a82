// What changes along one gate's run: shares that have no one value, and pulses that grow shallower.
//
// Assumes: rows of misses start independently of each other, each drop with one chance, where nothing
// changes; how long they are does not matter.
// Units: shares 0 … 1, changes relative to where they begin.
#pragma once

#include "analysis/causes/block_series.hpp"
#include "analysis/statistics/shares/comparison.hpp"

#include <optional>

namespace dropledger::causes {

// A share before and behind a quarter, the middle or three quarters of the run: where the numbers of
// rows that start differ most (exact test, adjusted for the three places).
struct ShareCourse {
    statistics::Group first;
    statistics::Group last;
    int quarters = 2;     // of the run, before the place
    double p_value = 1.0; // two-sided

    [[nodiscard]] bool rises() const { return share_of(last) > share_of(first); }
    [[nodiscard]] const statistics::Group& worse() const { return rises() ? last : first; }
    [[nodiscard]] static double share_of(const statistics::Group& part) {
        return part.n > 0 ? static_cast<double>(part.x) / static_cast<double>(part.n) : 0.0;
    }
};

// Misses, or multiples, drop by drop.
class ShareAlong {
public:
    void add(bool hit);
    [[nodiscard]] const BlockSeries& hits() const { return hits_; }
    // Nothing in a run of fewer than eight blocks.
    [[nodiscard]] std::optional<ShareCourse> course() const;
    [[nodiscard]] statistics::Group before(int quarters) const;

private:
    BlockSeries hits_;
    BlockSeries starts_; // of rows
    bool in_row_ = false;
};

struct AlongTheRun {
    std::optional<ShareCourse> misses;
    std::optional<ShareCourse> multiples; // single seeds only
    statistics::Group misses_at_first;    // in the first quarter
    // The gate's pulses grow shallower beyond chance, and no other gate that keeps its depth tells
    // whether what it misses fell: by so much, below 0.
    std::optional<double> dimming;
};

} // namespace dropledger::causes
