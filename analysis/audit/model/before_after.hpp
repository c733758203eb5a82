// Two runs of the same units side by side: one before something was changed, one after it.
//
// Units: those of the quantities; a difference is that of after over before, as the logs count it.
// Undefined when: a quantity cannot be compared: no difference, and `why_not` says why; a unit: no
// quantities.
#pragma once

#include "analysis/measures/quantity.hpp"
#include "analysis/statistics/basics/estimate.hpp"
#include "analysis/verdict/judgement.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::audit {

struct ComparedQuantity {
    measures::Reported what;
    std::optional<statistics::Estimate> before;
    std::optional<statistics::Estimate> after;
    std::optional<statistics::Interval> difference; // holds for all comparisons together
    std::string why_not;

    [[nodiscard]] bool differs() const { // zero lies outside
        return difference && (difference->low > 0.0 || difference->high < 0.0);
    }
};

// A setting of the unit that the two logs state otherwise.
struct ChangedSetting {
    std::string key; // as in the log
    std::string before;
    std::string after; // empty: not stated
};

struct ComparedUnit {
    std::string unit;
    std::optional<int> row{};
    verdict::Outcome before = verdict::Outcome::undecided;
    verdict::Outcome after = verdict::Outcome::undecided;
    int direction = 1; // of travel: a positive difference of places is later, or earlier where -1
    std::optional<std::int64_t> lead_before_us{};
    std::optional<std::int64_t> lead_after_us{};
    std::vector<ChangedSetting> settings{};
    std::vector<ComparedQuantity> quantities{};
    std::string why_not{}; // nothing of the unit can be compared
};

struct ComparedRun {
    std::string file;
    std::string run_id;
    std::string started;
    std::string started_here{}; // in local time, where the caller knows it
};

struct BeforeAfter {
    ComparedRun before;
    ComparedRun after;
    std::vector<ComparedUnit> units;
    std::vector<std::string> not_in_both; // units of one run only
    std::vector<std::string> cautions;    // sentences
    double confidence = 0.95;             // of all differences together
    std::size_t comparisons = 0;          // that the intervals allow for
};

} // namespace dropledger::audit
