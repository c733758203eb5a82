// A unit's undecided runs taken together, by a rule that was stated when the batch was opened.
//
// Rule: the first so many counted runs of a unit, all of them undecided and whole, made under the
// same conditions and calibrations, are judged once as one: for each limit the mean of the runs'
// values, weighed by their drops, and its interval. Once, for a number that was fixed before: no
// look after each run until one suits.
// Assumes: the runs' estimates are independent.
// Source: interval of a sum of independent estimates from their own intervals, Zou & Donner 2008
// (each side's half-widths in quadrature).
// Undefined when: fewer runs, unlike runs, or a limit without an estimate in one of them: nothing.
#pragma once

#include "analysis/batch/runs/tested_run.hpp"

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace dropledger::batch {

inline constexpr std::int64_t most_pooled = 10;

struct PooledRuns {
    std::string unit;
    std::vector<std::string> files;
    std::vector<LimitResult> limits;
    verdict::Outcome outcome = verdict::Outcome::undecided;
};

[[nodiscard]] std::optional<PooledRuns> pooled(const std::string& unit,
                                               std::span<const TestedRun> runs, std::int64_t count);

} // namespace dropledger::batch
