// The order of events, and whether what a batch rests on can have happened: one list of rules for
// adding, deciding, certifying and verifying.
//
// A run begins after its units were chosen and ends before it was added. Two runs of one bench (one
// key, or one name) never overlap, nor have they a line of one boot, the pulses or the counter's
// number in common; by its number a run comes after the one before, and names its last seal.
// Undefined when: a time of a log is no time: a violation.
#pragma once

#include "analysis/batch/chain/batch.hpp"

#include <string>
#include <vector>

namespace dropledger::batch {

struct Violation {
    std::string code;  // stable
    std::string where; // a log
    std::string what;  // for a person
    std::string remedy;
};

[[nodiscard]] std::vector<Violation> violations(const Batch& batch);

// Numbers of a key's run counter that none of the runs has.
struct MissingRuns {
    std::string public_key;
    std::int64_t first = 0;
    std::int64_t last = 0;
};

// Numbers of each key's counter between its first and last run here that none of these has.
[[nodiscard]] std::vector<MissingRuns> missing_runs(std::span<const TestedRun> runs);

} // namespace dropledger::batch
