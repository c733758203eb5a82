// A night of sowing with known truth: what each unit did, what each gate saw.
//
// Constructed; the faults and their strengths are our own choice.
#pragma once

#include "analysis/field/audit.hpp"

#include <algorithm>
#include <cstdint>
#include <map>
#include <set>
#include <vector>

namespace dropledger::field {

struct SimulatedRow {
    double miss = 0.005;               // independent
    double efficiency = 0.995;         // of the gate
    double burst = 0.0;                // an outage begins, per drop
    double burst_drops = 12.0;         // its mean length
    int bad_cell_of = 0;               // cells; 0: none is bad
    std::int64_t empty_from_pass = -1; // the container is empty from the middle of that pass on
    int late_drops = 0;                // lost at the start of each pass
};

struct SimulatedField {
    Field field;
    std::map<LineKey, std::set<std::int64_t>> missing; // drops at which no seed fell
};

struct Extent {
    std::int64_t passes = 6;
    std::int64_t drops = 500;
};

// An alert at the second silent drop of a run.
[[nodiscard]] SimulatedField simulate_field(const std::vector<SimulatedRow>& rows, Extent extent,
                                            std::uint32_t seed);

// A line with its drops changed.
template <class Change> void change(Line& line, Change change_drops) {
    std::vector<FieldDrop> drops = line.drops();
    change_drops(drops);
    line = Line(drops);
}

// The cause itself, or the set that it cannot be told from.
[[nodiscard]] inline bool names(const FieldCause& cause, causes::CauseKind kind) {
    return cause.kind == kind ||
           std::find(cause.could_be.begin(), cause.could_be.end(), kind) != cause.could_be.end();
}

// Silent drops by tenth of their stated probability, and how many of them were missing indeed.
struct Reliability {
    std::int64_t stated = 0;
    double sum = 0.0;
    std::int64_t missing = 0;
};
using ReliabilityTable = std::vector<Reliability>; // 10 classes

// Many fields of rows of every kind; every silent drop counts as an alert. The efficiencies are
// given as they are, or as a hand count of so many seeds found them, with its 95 % interval
// (Wilson's).
[[nodiscard]] ReliabilityTable reliability(std::uint32_t fields, std::uint32_t seed,
                                           int hand_count = 0);

} // namespace dropledger::field
