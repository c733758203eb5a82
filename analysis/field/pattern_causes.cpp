#include "analysis/field/row_causes.hpp"

#include "analysis/causes/speed_dependence.hpp"
#include "analysis/measures/number_words.hpp"
#include "analysis/statistics/basics/distributions.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::field {

namespace {

using causes::CauseKind;

constexpr double level = 1e-3;

FieldCause plain(const RowReport& row, CauseKind kind, double p_value, double drops) {
    FieldCause cause;
    cause.kind = kind;
    cause.row = row.judge.row;
    cause.p_value = std::clamp(p_value, 0.0, 1.0);
    cause.seeds =
        drops * row.seeds_commanded / static_cast<double>(std::max<std::int64_t>(1, row.drops));
    return cause;
}

void add_start_loss(const RowReport& row, std::vector<FieldCause>& found) {
    if (!row.judge.start_loss)
        return;
    const StartLoss& loss = *row.judge.start_loss;
    FieldCause cause =
        plain(row, CauseKind::start_loss, loss.p_value, static_cast<double>(loss.silent));
    cause.evidence = fmt::format("{} of {} passes begin silent, up to some {} drops long; {:.2f} % "
                                 "of the drops elsewhere are",
                                 grouped(loss.passes_begun_silent), grouped(loss.passes),
                                 grouped(loss.drops), 100.0 * row.judge.silent_share);
    cause.look_at = "when the meter starts: it is not yet filled at the first drop of a pass";
    found.push_back(std::move(cause));
}

void add_bad_cell(const RowReport& row, std::vector<FieldCause>& found) {
    if (!row.judge.bad_cell)
        return;
    const BadCell& cell = *row.judge.bad_cell;
    FieldCause cause =
        plain(row, CauseKind::bad_cell, cell.p_value, static_cast<double>(cell.hits));
    cause.pass = cell.shows_best.pass;
    cause.evidence =
        fmt::format("every {}th drop: {} of {} are silent there, {:.2f} % elsewhere; "
                    "in {} passes, best in pass {}",
                    cell.cells, grouped(cell.hits), grouped(cell.drops),
                    100.0 * row.judge.silent_share, grouped(cell.passes), cell.shows_best.pass);
    cause.look_at =
        fmt::format("one of {} cells of the metering disc: blocked, worn or damaged", cell.cells);
    for (std::int64_t i = 0; i < 50; ++i)
        cause.drops.push_back(cell.residue + i * cell.cells);
    found.push_back(std::move(cause));
}

void add_doubles(const RowReport& row, const Others& others, std::vector<FieldCause>& found) {
    constexpr double least = 0.05;
    constexpr double surely = 0.1; // whatever the other rows do
    const auto seen = static_cast<double>(row.drops - row.silent);
    const double share = seen > 0.0 ? static_cast<double>(row.doubles) / seen : 0.0;
    if (share < least || (share < surely && others.any && share < 2.5 * others.doubles_share))
        return;
    const double usual = std::clamp(others.any ? others.doubles_share : least / 2.0, 0.01, 0.5);
    const double p = statistics::binomial_sf(row.doubles - 1, {std::llround(seen), usual});
    if (p > level)
        return;
    FieldCause cause = plain(row, CauseKind::double_feeding, p, 0.0);
    cause.could_be = {CauseKind::sensor};
    cause.evidence = fmt::format("{:.1f} % of the drops hold two seeds or more, {:.1f} % in the "
                                 "other rows",
                                 100.0 * share, 100.0 * others.doubles_share);
    cause.look_at =
        "the singulator, the vacuum or brush, seed size against the disc; a sensor that "
        "counts one seed twice leaves the same trace: count a length of the row";
    found.push_back(std::move(cause));
}

void add_drift(const RowReport& row, std::vector<FieldCause>& found) {
    const Drift& drift = row.judge.drift;
    if (!drift.changes)
        return;
    double silent = 0.0;
    for (const Length& one : drift.lengths)
        silent += std::max(0.0, one.onsets - drift.least * one.chances);
    FieldCause cause = plain(row, CauseKind::gate_going_blind, drift.p_value, silent);
    cause.could_be = {CauseKind::meter};
    if (drift.late) {
        cause.kind = CauseKind::empty_container;
        cause.could_be = {CauseKind::gate_going_blind, CauseKind::meter};
    } else if (drift.short_rise) {
        cause.could_be.insert(cause.could_be.begin(), CauseKind::empty_container);
    }
    cause.pass = drift.most_at.pass;
    cause.evidence =
        fmt::format("single silent drops {} from {:.1f} to {:.1f} % of the drops, most "
                    "of all from pass {} on",
                    drift.trend > 0.3 ? "grew" : "changed", 100.0 * drift.least, 100.0 * drift.most,
                    drift.most_at.pass);
    cause.look_at =
        drift.late ? "the container: does it run empty; else the sensor's windows: dust"
                   : "the sensor's windows: dust; clean them and dig at one length of the row, "
                     "for a meter that gets worse looks alike";
    found.push_back(std::move(cause));
}

std::optional<causes::SpeedRun> pass_at_speed(const LineReport& line) {
    constexpr double least_m = 5.0; // a shorter pass is a headland's
    const double time_s = std::abs(line.ends_s - line.begins_s);
    if (line.length_m < least_m || time_s <= 0.0 || line.steady.drops < 1.0)
        return std::nullopt;
    causes::SpeedRun run;
    run.speed_mps = line.length_m / time_s;
    run.drops = std::llround(line.steady.drops);
    run.misses = std::llround(line.steady.silent);
    return run;
}

// Time and place tell the speed of each pass.
void add_speed_dependence(const FieldAudit& audit, const RowReport& row,
                          std::vector<FieldCause>& found) {
    if (!audit.field.has_time || !row.judge.episodes.empty())
        return;
    std::vector<causes::SpeedRun> passes;
    for (const LineReport& line : audit.lines)
        if (line.key.row == row.judge.row)
            if (const auto run = pass_at_speed(line))
                passes.push_back(*run);
    const auto rows = static_cast<double>(audit.rows.size());
    for (const causes::Cause& one :
         causes::speed_causes(passes, {.misses = "silent drops", .runs = "passes"})) {
        if (one.p_value * rows > level)
            continue;
        FieldCause cause =
            plain(row, one.kind, one.p_value * rows, 1.0 + static_cast<double>(row.silent));
        cause.evidence = one.evidence;
        cause.look_at = one.look_at;
        found.push_back(std::move(cause));
    }
}

// A row that changes in the night may do so with the speed: the stronger trace is named, the other with
// it.
void add_changes(const FieldAudit& audit, const RowReport& row, std::vector<FieldCause>& found) {
    std::vector<FieldCause> changes;
    add_speed_dependence(audit, row, changes);
    add_drift(row, changes);
    if (changes.empty())
        return;
    const auto strongest = std::min_element(
        changes.begin(), changes.end(),
        [](const FieldCause& a, const FieldCause& b) { return a.p_value < b.p_value; });
    for (const FieldCause& one : changes)
        if (one.kind != strongest->kind)
            strongest->could_be.push_back(one.kind);
    found.push_back(*strongest);
}

// Which of the two an excess of single silent drops points at.
CauseKind blame_of(const RowJudge& row) {
    if (row.efficiency_use != EfficiencyUse::holds && !row.when_silent.best) {
        if (row.when_silent.low >= 0.9)
            return CauseKind::meter;
        return row.when_silent.high <= 0.1 ? CauseKind::sensor : CauseKind::meter_or_sensor;
    }
    const double best = row.when_silent.best.value_or(0.5);
    if (row.efficiency_use == EfficiencyUse::doubted)
        return CauseKind::meter_or_sensor;
    return best >= 0.8   ? CauseKind::meter
           : best <= 0.2 ? CauseKind::sensor
                         : CauseKind::meter_or_sensor;
}

std::string_view look_at(CauseKind kind) {
    if (kind == CauseKind::meter)
        return "the meter: cells, singulator, vacuum or brush; seed size against the disc";
    if (kind == CauseKind::sensor)
        return "the sensor: dust on its windows, its alignment and supply; seed is there";
    return "sensor and meter: clean the sensor's windows, then dig at a length of the row; a bench "
           "run against a second gate tells how much the sensor sees";
}

// What it may cost is not known: nothing need be lost there.
void add_stuck(const FieldAudit& audit, const RowReport& row, std::vector<FieldCause>& found) {
    if (!row.judge.stuck)
        return;
    const Stuck& stuck = *row.judge.stuck;
    FieldCause cause = plain(row, CauseKind::sensor, stuck.p_value, 0.0);
    cause.pass = stuck.from.pass;
    cause.last_pass = stuck.to.pass;
    cause.evidence =
        stuck.whole_night
            ? fmt::format(
                  "{:.2f} % of its {} drops are silent, {:.2f} % in the other rows: too few "
                  "to be true, unless this row is ten times better",
                  100.0 * row.judge.silent_share, grouped(stuck.drops), 100.0 * stuck.usual_share)
            : fmt::format(
                  "not one silent drop among {}, from drop {} of pass {} to drop {} of pass "
                  "{}, where {:.2f} % of its others are",
                  grouped(stuck.drops), stuck.first_drop, audit.field.pass_name(stuck.from.pass),
                  stuck.last_drop, audit.field.pass_name(stuck.to.pass), 100.0 * stuck.usual_share);
    cause.look_at = "dig at a length of it: a sensor that is stuck, or takes vibration for seed, "
                    "reports seed where none falls";
    found.push_back(std::move(cause));
}

// Silent drops that come singly, far more of them than in the other rows.
void add_background(const RowReport& row, const Others& others, std::vector<FieldCause>& found) {
    constexpr double least = 0.038;
    constexpr double surely = 0.08; // whatever the other rows do
    const RowJudge& judge = row.judge;
    if (judge.drift.changes || judge.silent_share < least)
        return;
    const double usual = others.any ? std::clamp(others.silent_share, 0.004, 0.5) : least / 2.0;
    const auto drops = static_cast<double>(row.drops);
    const double p =
        statistics::binomial_sf(std::llround(judge.silent_share * drops) - 1, {row.drops, usual});
    if ((judge.silent_share < 2.0 * usual && judge.silent_share < surely) || p > level)
        return;
    const CauseKind kind = blame_of(judge);
    const double excess = std::max(0.0, judge.silent_share - usual) * drops;
    FieldCause cause = plain(row, kind, p, kind == CauseKind::sensor ? 0.0 : excess);
    if (kind == CauseKind::meter_or_sensor)
        cause.could_be = {CauseKind::meter, CauseKind::sensor};
    cause.evidence =
        fmt::format("{:.1f} % of {} drops are silent one by one, {:.1f} % in the other rows",
                    100.0 * judge.silent_share, grouped(row.drops), 100.0 * others.silent_share);
    cause.look_at = look_at(kind);
    found.push_back(std::move(cause));
}

} // namespace

std::vector<FieldCause> pattern_causes(const FieldAudit& audit, const RowReport& row,
                                       const Others& others) {
    std::vector<FieldCause> found;
    add_start_loss(row, found);
    add_bad_cell(row, found);
    add_changes(audit, row, found);
    add_background(row, others, found);
    add_doubles(row, others, found);
    add_stuck(audit, row, found);
    return found;
}

} // namespace dropledger::field
