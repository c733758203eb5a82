// A share of a run that may end at any drop, whatever ends it: one interval for all those ends, and
// the test that stops by it.
//
// Assumes: hits may come in rows (row_share.hpp), of `longest_mean_row` on average at most while
// none was seen.
// How: at every drop from `first` to `most` the interval is that of a fixed run at a confidence so
// high that all of them together hold the truth as often as stated: tail φ(z)·((z − 1/z)·ln(most /
// first) + 4/z) = 1 − confidence. With no hit at all, the share is at most that of rows of ten
// which would have shown themselves.
// Source: Siegmund 1985, Sequential Analysis, ch. IV (repeated significance tests; from memory),
// applied to the chain; measured in analysis/verdict/README.md.
// Undefined when: no entries: no estimate.
#pragma once

#include "analysis/base/units.hpp"
#include "analysis/statistics/basics/estimate.hpp"
#include "analysis/statistics/shares/rows.hpp"
#include "analysis/statistics/stopping/sequential.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::statistics {

constexpr double longest_mean_row = 10.0;

// The drops at which a run may end.
struct Monitoring {
    std::int64_t first = 50;
    std::int64_t most = 2000;
};

// Of each drop, that all of them together have `confidence`.
[[nodiscard]] Confidence confidence_of_each(const Monitoring& monitoring, Confidence confidence);

[[nodiscard]] std::optional<Estimate>
monitored_share(const RowCounts& counts, const Monitoring& monitoring, Confidence confidence);

// Ends as good once the monitored interval lies inside the limit, as bad once it lies beyond it.
struct LimitPlan {
    double limit = 0.0;
    Confidence confidence{0.95};
    Monitoring monitoring = {};
    std::int64_t every = 10;       // drops from one look to the next
    std::int64_t least = 0;        // drops, before it can end as good
    std::int64_t least_events = 3; // before it can end as bad
};

class LimitTest {
public:
    explicit LimitTest(const LimitPlan& plan);

    Decision step(bool hit);

    [[nodiscard]] Decision decision() const { return decision_; }
    // Up to the decision, nothing after it.
    [[nodiscard]] const RowCounts& counts() const { return counts_; }

private:
    [[nodiscard]] bool is_look() const;
    [[nodiscard]] Decision look() const;

    LimitPlan plan_;
    Confidence each_;
    RowCounts counts_;
    Decision decision_ = Decision::go_on;
};

} // namespace dropledger::statistics
