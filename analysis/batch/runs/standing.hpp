// How the chosen units stand by their runs, and what that decides.
//
// Rules: every counted run counts. A unit is nonconforming where any of them is outside, conforming
// where none is and one is within; with undecided runs only it needs another, or, where that was
// stated beforehand, is judged once by them all together (pooled.hpp).
#pragma once

#include "analysis/batch/runs/plan.hpp"
#include "analysis/batch/runs/pooled.hpp"
#include "analysis/batch/runs/tested_run.hpp"

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace dropledger::batch {

// Bound: a twentieth of the sample's units, at least one; our own choice.
[[nodiscard]] TakenOutTally taken_out(std::span<const TestedRun> runs, std::int64_t n);

// What was chosen and what was made of it.
struct Tested {
    std::span<const std::string> chosen;
    std::span<const TestedRun> runs;
    std::optional<std::int64_t> pooled_runs{}; // so many undecided runs of a unit are pooled
};

struct Standing {
    std::vector<std::string> conforming;
    std::vector<std::string> nonconforming;
    std::vector<std::string> undecided; // tested, but no run of theirs decides
    std::vector<std::string> untested;

    [[nodiscard]] bool whole() const { return undecided.empty() && untested.empty(); }
};
[[nodiscard]] Standing standing(const Tested& tested);

// The units of the first sample, where there are two; else all that were chosen.
[[nodiscard]] Tested first_sample(const BatchPlan& plan, const Tested& tested);
// The first sample is tested and neither accepts nor rejects.
[[nodiscard]] bool in_doubt(const BatchPlan& plan, const Tested& tested);

// One value a unit, by a plan by variables: of all its counted runs, weighed by their drops. A run
// that was held back has none.
struct MeasuredUnit {
    std::string unit;
    double value = 0.0;
};
struct MeasuredSample {
    std::vector<MeasuredUnit> units;
    double mean = 0.0;
    double sd = 0.0;
    double criterion = 0.0;                  // mean + k s, or mean - k s where it is at least
    std::optional<double> normality_p;       // Anderson-Darling, from eight values on
    std::vector<std::string> outside_others; // units outside by another limit than the measured
    bool accepted = false;
};
// Nothing where a chosen unit has no value yet.
[[nodiscard]] std::optional<MeasuredSample> measured_sample(const BatchPlan& plan,
                                                            const Tested& tested);

// Empty where units are still missing and their results can matter. Enough nonconforming units
// decide at once, and so do more units than the bound that lost a run outside; acceptance waits for
// every unit of the sample. Two samples: the first decides alone unless it is in doubt or the
// second was begun. By variables: accepted where mean and spread keep the limit, the values are
// not refuted as normal at 5 %, and no unit is outside by another limit.
[[nodiscard]] std::optional<LotOutcome> decision_of(const BatchPlan& plan, const Tested& tested);

} // namespace dropledger::batch
