// A sequential test replayed on the ledger: its decision, and the path of hits for a picture.
//
// Assumes: entries come in the order of the commands. The path goes on after the decision.
// Units: drops.
#pragma once

#include "analysis/statistics/sequential.hpp"

#include <cstdint>
#include <vector>

namespace dropledger::measures {

class SequentialPath {
public:
    static constexpr std::size_t most_hits_drawn = 4096;

    SequentialPath(const statistics::SequentialPlan& plan, std::int64_t maximum)
        : plan_(plan), maximum_(maximum), test_(plan, maximum) {}

    void add(bool hit);

    [[nodiscard]] const statistics::SequentialPlan& plan() const { return plan_; }
    [[nodiscard]] std::int64_t maximum() const { return maximum_; }
    // Up to the decision, or to the end of the run where there is none.
    [[nodiscard]] statistics::Decision decision() const { return test_.decision(); }
    [[nodiscard]] std::int64_t decided_after() const { return test_.entries(); }
    [[nodiscard]] std::int64_t hits_then() const { return test_.hits(); }
    // Of the whole run.
    [[nodiscard]] std::int64_t entries() const { return entries_; }
    [[nodiscard]] std::int64_t hits() const { return hits_; }
    // After how many drops each of the first hits came.
    [[nodiscard]] const std::vector<std::int64_t>& hit_at() const { return hit_at_; }

private:
    statistics::SequentialPlan plan_;
    std::int64_t maximum_;
    statistics::SequentialTest test_;
    std::int64_t entries_ = 0;
    std::int64_t hits_ = 0;
    std::vector<std::int64_t> hit_at_;
};

} // namespace dropledger::measures
