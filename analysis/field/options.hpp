// What the user says of a field audit: efficiencies, assumption, costs, pace, what digging found.
//
// Units: in the names; shares 0 … 1.
#pragma once

#include "analysis/field/input/findings.hpp"
#include "analysis/field/judge/judge.hpp"

#include <optional>
#include <string>

namespace dropledger::field {

// What the user says doing nothing and re-seeding cost; nothing is assumed, a missing one is named.
struct Costs {
    std::optional<double> per_lost_plant;
    std::optional<double> per_reseeded_metre;
    std::optional<double> per_gap; // to walk or drive to it
    std::optional<double> per_seed;
    double late_value = 1.0; // of a plant re-seeded late, against one in time
};

// How long re-seeding takes; round figures unless the user says otherwise.
struct Pace {
    double reseed_mps = 0.3;
    double walk_mps = 1.2;
    double seconds_per_gap = 20.0;
};

struct FieldOptions {
    std::string file;
    GateEfficiencies gate_efficiencies;
    Assumption assumption = Assumption::none;
    double reseed_min_m = 1.0;
    double germination = 1.0;
    std::optional<double> guard_mm;
    std::optional<Costs> costs;
    Pace pace;
    Findings findings;
};

} // namespace dropledger::field
