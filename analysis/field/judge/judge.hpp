// Is seed really missing where the sensor saw nothing, or did the sensor miss it?
//
// The flow of one row: its course (course.hpp), how often it is silent along the night
// (background.hpp), lasting silences (silence_model.hpp) as episodes (episode.hpp), whether gate and
// meter stayed the same (drift.hpp); then each silent drop is judged by what it is part of:
//   singly      by the stated efficiency of the gate, as far as the row agrees with it
//               (silent_chance.hpp); without one 0 to 1. Where the row changes in the night, or comes
//               and goes (an intermittent cable does so), no efficiency holds: 0 to 1.
//   start, cell what such drops are silent beyond the others is the meter's, for a gate knows
//               nothing of starts or cells.
//   an episode  that came of a sudden once and lasted, or before which silence grew for a short
//               while: seed is missing, most likely (a broken cable leaves the same trace, more
//               rarely). Several that came and went, some in several rows at once, that came by
//               and by over a long time, in which seeds go on being seen now and then (a gate that is
//               all but blind shows the same), or that was there from the row's first drop on: can't
//               be told, 0 to 1.
// What was found by digging (`Findings`) goes before all that. Probabilities of episodes are our
// own, checked on nights they were not made for (tests/analysis/field/nights); none is 1.
// Assumes: a gate that showed seeds as it should did not go wholly blind of a sudden without reporting it;
// where a gate did report itself blocked, nothing is judged in that pass and row.
#pragma once

#include "analysis/field/input/drops.hpp"
#include "analysis/field/input/findings.hpp"
#include "analysis/field/judge/drift.hpp"
#include "analysis/field/judge/gaps.hpp"
#include "analysis/field/judge/looks.hpp"
#include "analysis/field/judge/silent_chance.hpp"
#include "analysis/field/judge/stuck.hpp"

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

enum class Assumption { none, gates_alike, meters_alike, cables_sound };

// What the other rows would say of a row, were its gate, or its meter, like theirs.
struct Neighbours {
    std::int64_t least_row = 0;           // the least silent row
    double least_silent = 0.0;            // its silent share between episodes …
    double least_silent_most = 1.0;       // … and that share's upper 97.5 % bound
    double missing_if_gates_alike = 0.0;  // P(missing | silent) at least
    double missing_if_meters_alike = 1.0; // at most
};

enum class EfficiencyUse {
    none_stated,
    holds,      // the row agrees with it
    doubted,    // the row is silent far more often than it and an ordinary meter make
    too_silent, // the row changes in the night, or comes and goes
    too_seeing, // fewer drops are silent than such a gate would overlook
};

// Seeds lost in one row: between what bounds, and the variance of what falls to chance.
struct Lost {
    double low = 0.0;
    double high = 0.0;
    double variance = 0.0;
};

struct RowJudge {
    std::int64_t row = 0;
    double silent_share = 0.0; // between episodes, apart from starts and cells
    double quiet_share = 0.0;  // the same in the row's quiet part
    std::vector<Episode> episodes;
    std::int32_t single_look = -1; // that tells of its single silent drops (looks.hpp)
    Drift drift;
    std::optional<StartLoss> start_loss;
    std::optional<BadCell> bad_cell;
    std::optional<GateEfficiency> efficiency;
    EfficiencyUse efficiency_use = EfficiencyUse::none_stated;
    bool ever_seen = false;     // the gate saw at least one drop
    bool blocked = false;       // its gate reported itself blocked in some pass
    std::optional<Stuck> stuck; // it may report seed where none falls
    std::optional<double>
        reported_share; // of portions: seeds that the gate reported of those commanded
    std::optional<double> missing_when_silent; // P(missing | silent) of single ones
    Chance when_silent;                        // its bounds
    std::optional<Neighbours> neighbours; // where no efficiency is known and there are other rows
    Lost lost;
    std::vector<std::string> notes;

    [[nodiscard]] bool comes_and_goes() const;
};

struct Judged {
    std::map<std::int64_t, RowJudge> rows;
    std::map<LineKey, std::vector<Chance>> silent; // by line: one per silent drop, in drop order
    std::map<LineKey, std::vector<std::int32_t>> looks; // likewise: the look that settles it, or -1
    std::map<LineKey, Background> steady; // of each line, outside episodes, starts and bad cells
};

struct JudgeOptions {
    GateEfficiencies efficiencies{};
    Assumption assumption = Assumption::none;
    Findings findings{};
};

[[nodiscard]] Judged judge_drops(const Field& field, const JudgeOptions& options);

} // namespace dropledger::field
