// Is seed really missing where the sensor saw nothing, or did the sensor miss it?
//
// Notation: q miss share of the unit, e efficiency of its gate (share of seeds it sees), s silent
// share of the drops: s = q + (1 - q)·f with f = (1 - e)^target, the chance that a gate overlooks a
// whole drop. Then P(missing | silent) = q/s = (s - f)/(s·(1 - f)), averaged over what the row's
// counts say of s (flat prior for q; by quadrature). A lasting silence (silence_model.hpp) without
// a gate fault is seed missing: a beam that is blocked is dark and reports itself. Where silence
// gathers at one residue of the drop index (a bad cell) its drops are judged apart from the others.
// An efficiency with an interval is averaged over, each value weighed by how well it fits the row's
// own silence. A lasting silence that did not come of a sudden (the drops before it are silent far
// more often than in the row's quietest pass) is not judged: a gate that goes blind by and by makes
// it too.
// Assumes: the efficiency is the same all night; a gate that shows seeds now and then did not go
// blind for whole runs without reporting it; where a gate did report itself blocked, nothing is
// judged in that pass and row.
// Undefined when: no efficiency is known: of independent silent drops only bounds are known (0 …
// 1), for a meter that misses one in three and a gate blind to one in three write the same log.
// What the neighbours show narrows them only under an assumption that the user states: that all
// gates see alike (then none overlooks more than the least silent row is silent: f <= s_least), or
// that all meters feed alike (then q <= s_least).
#pragma once

#include "analysis/field/input/drops.hpp"
#include "analysis/field/judge/gaps.hpp"
#include "analysis/field/judge/silence_model.hpp"

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::field {

struct GateEfficiency {
    double value = 1.0;
    double low = 1.0;
    double high = 1.0;
    std::string source{}; // the calibration's name; empty where the user said it

    GateEfficiency() = default;
    GateEfficiency(double share)
        : value(share), low(share), high(share) {
    } // NOLINT: a share is an efficiency without interval
};
using GateEfficiencies = std::map<std::int64_t, GateEfficiency>; // by row

enum class Assumption { none, gates_alike, meters_alike };

// What the other rows would say of a row, were its gate, or its meter, like theirs.
struct Neighbours {
    std::int64_t least_row = 0;           // the least silent row
    double least_silent = 0.0;            // its silent share between outages …
    double least_silent_most = 1.0;       // … and that share's upper 97.5 % bound
    double missing_if_gates_alike = 0.0;  // P(missing | silent) at least
    double missing_if_meters_alike = 1.0; // at most
};

struct RowJudge {
    std::int64_t row = 0;
    SilenceModel model;
    std::optional<GateEfficiency> efficiency;
    bool ever_seen = false; // the gate saw at least one drop
    bool passes_differ =
        false;            // the background share is not the same in all passes: each is taken alone
    bool blocked = false; // its gate reported itself blocked in some pass
    // Of portions: seeds that the gate reported of those commanded
    std::optional<double> reported_share;
    std::optional<double>
        missing_when_silent;              // P(missing | silent) outside outages, over all passes
    Chance when_silent;                   // its bounds
    std::optional<Neighbours> neighbours; // where no efficiency is known and there are other rows
    std::vector<std::string> notes;
};

struct Judged {
    std::map<std::int64_t, RowJudge> rows;
    std::map<LineKey, std::vector<Chance>> silent; // by line: one per silent drop, in drop order
};

[[nodiscard]] Judged judge_drops(const Field& field, const GateEfficiencies& efficiencies,
                                 Assumption assumption = Assumption::none);

struct Background {
    double silent = 0.0;
    double drops = 0.0;
};
// q/s averaged over the posterior of s; `overlooked` is f. 0 <= f < 1.
[[nodiscard]] double missing_when_silent(const Background& background, double overlooked);

} // namespace dropledger::field
