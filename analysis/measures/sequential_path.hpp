// The test by which a run could stop itself, replayed on the ledger: its decision, and the path of
// hits for a picture.
//
// Assumes: entries come in the order of the commands. The path goes on after the decision.
// Units: drops.
#pragma once

#include "analysis/statistics/shares/independence.hpp"
#include "analysis/statistics/stopping/stop_test.hpp"

#include <cstdint>
#include <vector>

namespace dropledger::measures {

class SequentialPath {
public:
    static constexpr std::size_t most_hits_drawn = 4096;

    SequentialPath(const statistics::StopPlan& plan, std::int64_t maximum)
        : plan_(plan), maximum_(maximum), test_(plan, maximum) {}

    void add(bool hit);

    [[nodiscard]] const statistics::StopPlan& plan() const { return plan_; }
    // Nothing where the rule is Wald's.
    [[nodiscard]] const statistics::LimitPlan* limit_plan() const {
        return std::get_if<statistics::LimitPlan>(&plan_);
    }
    [[nodiscard]] std::int64_t maximum() const { return maximum_; }
    // Up to the decision, or to the end of the run where there is none.
    [[nodiscard]] statistics::Decision decision() const { return test_.decision(); }
    [[nodiscard]] std::int64_t decided_after() const { return test_.entries(); }
    [[nodiscard]] std::int64_t hits_then() const { return test_.hits(); }
    [[nodiscard]] const statistics::RowCounts& rows_then() const { return rows_then_; }
    // Of the whole run.
    [[nodiscard]] std::int64_t entries() const { return rows().entries; }
    [[nodiscard]] std::int64_t hits() const { return rows().hits; }
    [[nodiscard]] statistics::RowCounts rows() const { return counter_.rows(); }
    // After how many drops each of the first hits came.
    [[nodiscard]] const std::vector<std::int64_t>& hit_at() const { return hit_at_; }

private:
    statistics::StopPlan plan_;
    std::int64_t maximum_;
    statistics::StopTest test_;
    statistics::RunCounter counter_;
    statistics::RowCounts rows_then_;
    std::vector<std::int64_t> hit_at_;
};

} // namespace dropledger::measures
