// How the chosen units stand by their runs, and what that decides.
//
// Rules: every counted run counts. A unit is nonconforming where any of them is outside, conforming
// where none is and one is within; with undecided runs only it needs another.
#pragma once

#include "analysis/batch/runs/plan.hpp"
#include "analysis/batch/runs/tested_run.hpp"

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace dropledger::batch {

// Bound: a twentieth of the sample's units, at least one; our own choice.
[[nodiscard]] TakenOutTally taken_out(std::span<const TestedRun> runs, std::int64_t n);

struct Standing {
    std::vector<std::string> conforming;
    std::vector<std::string> nonconforming;
    std::vector<std::string> undecided; // tested, but no run of theirs decides
    std::vector<std::string> untested;
};
[[nodiscard]] Standing standing(std::span<const std::string> chosen,
                                std::span<const TestedRun> runs);

// Empty where units are still missing and their results can matter. Enough nonconforming units
// decide at once, and so do more units than the bound that lost a run outside; acceptance waits for
// every unit of the sample.
[[nodiscard]] std::optional<LotOutcome> decision_of(const AttributePlan& plan,
                                                    const Standing& standing,
                                                    const TakenOutTally& taken_out = {});

} // namespace dropledger::batch
