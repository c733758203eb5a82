// Is seed really missing where the sensor saw nothing, or did the sensor miss it?
//
// Notation: q miss share of the unit, e efficiency of its gate (share of seeds it sees), s silent share of the
// drops: s = q + (1 - q)·f with f = (1 - e)^target, the chance that a gate overlooks a whole drop. Then
// P(missing | silent) = q/s = (s - f)/(s·(1 - f)), averaged over what the row's counts say of s (flat prior for q;
// by quadrature).
// A lasting silence (silence_model.hpp) without a gate fault is seed missing: a beam that is blocked is dark and
// reports itself.
// Where silence gathers at one residue of the drop index (a bad cell) its drops are judged apart from the others.
// Assumes: the efficiency is the user's, exact and the same all night; a gate that shows seeds now and then did not go
// blind for whole runs without reporting it.
// Undefined when: no efficiency is known: of independent silent drops only bounds are known (0 … 1), for a meter
// that misses one in three and a gate blind to one in three write the same log.
#pragma once

#include "analysis/field/drops.hpp"
#include "analysis/field/gaps.hpp"
#include "analysis/field/silence_model.hpp"

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::field {

using GateEfficiencies = std::map<std::int64_t, double>; // row -> share

struct RowJudge {
    std::int64_t row = 0;
    SilenceModel model;
    std::optional<double> efficiency;
    bool ever_seen = false;     // the gate saw at least one drop
    bool passes_differ = false; // the background share is not the same in all passes: each is taken alone
    std::optional<double> missing_when_silent; // P(missing | silent) outside outages, over all passes
    std::vector<std::string> notes;
};

struct Judged {
    std::map<std::int64_t, RowJudge> rows;
    std::map<LineKey, std::vector<Chance>> silent; // by line: one per silent drop, in drop order
};

[[nodiscard]] Judged judge_drops(const Field& field, const GateEfficiencies& efficiencies);

struct Background {
    double silent = 0.0;
    double drops = 0.0;
};
// q/s averaged over the posterior of s; `overlooked` is f. 0 <= f < 1.
[[nodiscard]] double missing_when_silent(const Background& background, double overlooked);

} // namespace dropledger::field
