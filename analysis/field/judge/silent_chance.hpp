// P(missing | silent) of drops that are silent singly, from how many are and from what the gate may
// overlook.
//
// Notation: s silent share of the drops, q miss share of the meter, f share of drops that the gate
// overlooks as a whole: s = q + (1 - q)·f, so P(missing | silent) = (s - f)/(s·(1 - f)). What is
// stated of a gate held once: with probability 1 - `trust` it holds no more and the gate overlooks
// any share up to a half, each alike, and in one of 20 cases any beyond. Meters leave out one or two
// in a hundred (exponential, 80 %), bad ones (20 %) any share in the same way. These are our own
// round figures, not measured ones: where the stated efficiency and an ordinary meter explain the
// silence they hardly count; where they do not, "the meter is bad" and "the gate sees less than
// stated" are left to weigh about alike, for the log can't tell. By quadrature over s.
#pragma once

#include "analysis/field/judge/gaps.hpp"

#include <vector>

namespace dropledger::field {

struct Background {
    double silent = 0.0;
    double drops = 0.0;
};

// q/s averaged over the posterior of s, with the meters' prior; `overlooked` is f. 0 <= f < 1.
[[nodiscard]] double missing_when_silent(const Background& background, double overlooked);

struct StatedGate {
    std::vector<double> overlooked; // f: each value as likely as the others; not empty
    double trust = 0.9;
};

struct SilentChance {
    Chance chance;      // its bounds hold all that is not beyond belief (1 %)
    double holds = 0.0; // P(what is stated of the gate still holds)
};
[[nodiscard]] SilentChance chance_of(const Background& background, const StatedGate& gate);

} // namespace dropledger::field
