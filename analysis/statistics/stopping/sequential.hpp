// Wald's sequential probability ratio test of a share: after every entry accept, reject or go on.
//
// Assumes: independent entries. The nominal risks are upper bounds in effect, for the path
// overshoots its lines; sequential_curve.hpp has the exact ones.
// Source: Wald 1947; NIST/SEMATECH e-Handbook 6.2.6. Accept where hits <= slope n - h_accept,
// reject where hits >= slope n + h_reject.
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/statistics/stopping/two_point.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::statistics {

struct SequentialPlan {
    TwoPoint points;
    double k = 0.0; // ln of the odds ratio of the two levels
    double h_accept = 0.0;
    double h_reject = 0.0;
    double slope = 0.0;

    // Largest count of hits that accepts after n entries; nothing while no count does.
    [[nodiscard]] std::optional<std::int64_t> acceptance_number(std::int64_t n) const;
    // Smallest count of hits that rejects after n entries; nothing while even n of n do not.
    [[nodiscard]] std::optional<std::int64_t> rejection_number(std::int64_t n) const;
};

[[nodiscard]] Result<SequentialPlan> sequential_plan(TwoPoint points);

enum class Decision : std::uint8_t {
    go_on,
    accept,
    reject,
    undecided, // the hard maximum is reached without a decision
};

// The test during a run. Once decided it stays decided, whatever is added after.
class SequentialTest {
public:
    SequentialTest(const SequentialPlan& plan, std::int64_t maximum);

    // One more entry; is it of the kind that is counted (a miss, say)?
    Decision step(bool hit);

    [[nodiscard]] Decision decision() const { return decision_; }
    // Entries and hits up to the decision, none after it.
    [[nodiscard]] std::int64_t entries() const { return entries_; }
    [[nodiscard]] std::int64_t hits() const { return hits_; }

private:
    SequentialPlan plan_;
    std::int64_t maximum_;
    std::int64_t entries_ = 0;
    std::int64_t hits_ = 0;
    Decision decision_ = Decision::go_on;
};

} // namespace dropledger::statistics
