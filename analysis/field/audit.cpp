#include "analysis/field/audit.hpp"

#include "analysis/field/concentration.hpp"
#include "analysis/field/field_causes.hpp"
#include "analysis/field/parts.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::field {

namespace {

// Chance of each gap: the mean over its drops, for it is judged as a whole.
void judge_gaps(const Judged& judged, std::vector<Gap>& gaps) {
    const std::vector<Chance>* chances = nullptr;
    const LineKey* key = nullptr;
    std::size_t at = 0;
    for (Gap& gap : gaps) {
        if (key == nullptr || *key != gap.key) {
            chances = &judged.silent.at(gap.key);
            at = 0;
        }
        key = &gap.key;
        Chance sum{0.0, 0.0, 0.0};
        for (std::int64_t i = 0; i < gap.drops(); ++i, ++at) {
            const Chance& one = chances->at(at);
            sum.low += one.low;
            sum.high += one.high;
            sum.best = sum.best && one.best ? std::optional(*sum.best + *one.best) : std::nullopt;
        }
        const auto n = static_cast<double>(gap.drops());
        gap.missing = {sum.low / n, sum.high / n,
                       sum.best ? std::optional(*sum.best / n) : std::nullopt};
    }
}

void add_alerts(const Field& field, const Judged& judged, std::vector<Alert>& alerts) {
    for (const auto& [key, line] : field.lines) {
        std::size_t silent = 0;
        for (const FieldDrop& drop : line) {
            const Chance missing =
                drop.silent() ? judged.silent.at(key).at(silent++) : Chance{0.0, 0.0, 0.0};
            if (drop.alert)
                alerts.push_back({.key = key,
                                  .drop = drop.drop,
                                  .time_s = drop.time_s,
                                  .at = drop.at,
                                  .seen = !drop.silent(),
                                  .missing = missing});
        }
    }
}

std::vector<Place> outline_of(const std::vector<FieldDrop>& drops) {
    constexpr std::size_t most_steps = 8;
    const std::size_t steps = std::min(most_steps, drops.size() - 1);
    std::vector<Place> outline{drops.front().at};
    for (std::size_t i = 1; i <= steps; ++i)
        outline.push_back(drops[i * (drops.size() - 1) / steps].at);
    return outline;
}

void add_lost(const Judged& judged, const std::vector<FieldDrop>& drops, LineReport& line) {
    const auto found = judged.silent.find(line.key);
    std::size_t silent = 0;
    for (const FieldDrop& drop : drops) {
        line.seeds_commanded += drop.target;
        if (!drop.silent())
            continue;
        const Chance& chance = found->second.at(silent++);
        line.seeds_lost_low += chance.low * drop.target;
        line.seeds_lost_high += chance.high * drop.target;
    }
}

// Seeds in portions of which the gate saw some.
struct Portions {
    double commanded = 0.0;
    double seen = 0.0;

    [[nodiscard]] double lacking() const { return commanded - seen; }
};

Portions portions_of(const std::vector<FieldDrop>& drops) {
    Portions sum;
    for (const FieldDrop& drop : drops)
        if (drop.target > 1 && !drop.silent()) {
            sum.commanded += drop.target;
            sum.seen += std::min(drop.seen, drop.target);
        }
    return sum;
}

// Of what a row's portions lack, how much was not given: between none and all of it, or what is
// left when the seeds that the gate overlooked are put back.
std::pair<double, double> share_not_given(const RowJudge& row, const Portions& all) {
    if (row.blocked || !row.efficiency || all.lacking() <= 0.0)
        return {0.0, 1.0};
    const auto left = [&](double efficiency) {
        return std::max(0.0, all.commanded - all.seen / std::max(1e-6, efficiency)) / all.lacking();
    };
    return {left(row.efficiency->low), left(row.efficiency->high)};
}

std::map<std::int64_t, std::pair<double, double>> shares_not_given(const Judged& judged,
                                                                   const Field& field) {
    std::map<std::int64_t, Portions> rows;
    for (const auto& [key, drops] : field.lines) {
        const Portions line = portions_of(drops);
        rows[key.row].commanded += line.commanded;
        rows[key.row].seen += line.seen;
    }
    std::map<std::int64_t, std::pair<double, double>> shares;
    for (const auto& [row, all] : rows)
        shares[row] = share_not_given(judged.rows.at(row), all);
    return shares;
}

void add_lines(const Judged& judged, FieldAudit& audit) {
    const auto not_given = shares_not_given(judged, audit.field);
    for (const auto& [key, drops] : audit.field.lines) {
        LineReport line;
        line.key = key;
        line.drops = static_cast<std::int64_t>(drops.size());
        for (const FieldDrop& drop : drops) {
            line.silent += drop.silent() ? 1 : 0;
            line.alerts += drop.alert ? 1 : 0;
        }
        line.outline = outline_of(drops);
        add_lost(judged, drops, line);
        const auto [least, most] = not_given.at(key.row);
        line.seeds_lost_low += least * portions_of(drops).lacking();
        line.seeds_lost_high += most * portions_of(drops).lacking();
        audit.lines.push_back(line);
    }
    auto line = audit.lines.begin();
    for (const Gap& gap : audit.gaps) { // both by pass and row
        while (line->key != gap.key)
            ++line;
        ++line->gaps;
        line->longest_gap_m = std::max(line->longest_gap_m, gap.length_m);
    }
}

// ISO 7256-1 counts, by commanded places: a spacing that skips one drop is one of the third class,
// and so on.
struct IndexCounts {
    std::int64_t within = 0;   // n'1
    std::int64_t spacings = 0; // N
    std::int64_t misses = 0;   // n0
    bool singles_only = true;

    void add(const std::vector<FieldDrop>& line) {
        std::int64_t last = -1;
        for (const FieldDrop& drop : line) {
            singles_only &= drop.target == 1;
            if (drop.seen == 0)
                continue;
            within += drop.seen - 1;
            spacings += drop.seen - 1;
            if (last >= 0) {
                ++spacings;
                misses += std::min<std::int64_t>(drop.drop - last - 1, 3);
            }
            last = drop.drop;
        }
    }
};

void add_indices(const IndexCounts& counts, RowReport& row) {
    const std::int64_t singles = counts.spacings - 2 * counts.within;
    const std::int64_t intervals = counts.within + singles + counts.misses;
    if (!counts.singles_only || singles < 0 || intervals <= 0)
        return;
    row.miss_index = static_cast<double>(counts.misses) / static_cast<double>(intervals);
    row.multiples_index = static_cast<double>(counts.within) / static_cast<double>(intervals);
}

void add_guard(const FieldAudit& audit, RowReport& row) {
    std::int64_t inside = 0;
    for (const auto& [key, line] : audit.field.lines)
        for (const FieldDrop& drop : line)
            if (key.row == row.judge.row && drop.has_offset) {
                ++row.offsets;
                inside += std::abs(static_cast<double>(drop.offset_mm)) <= *audit.options.guard_mm
                              ? 1
                              : 0;
            }
    if (row.offsets > 0)
        row.within_guard = static_cast<double>(inside) / static_cast<double>(row.offsets);
}

void add_rows(FieldAudit& audit, const Judged& judged) {
    for (const auto& [number, judge] : judged.rows) {
        RowReport row;
        row.judge = judge;
        IndexCounts counts;
        for (const LineReport& line : audit.lines) {
            if (line.key.row != number)
                continue;
            row.drops += line.drops;
            row.silent += line.silent;
            row.gaps += line.gaps;
            row.alerts += line.alerts;
            row.longest_gap_m = std::max(row.longest_gap_m, line.longest_gap_m);
            row.seeds_commanded += line.seeds_commanded;
            row.seeds_lost_low += line.seeds_lost_low;
            row.seeds_lost_high += line.seeds_lost_high;
            counts.add(audit.field.lines.at(line.key));
        }
        add_indices(counts, row);
        if (audit.options.guard_mm)
            add_guard(audit, row);
        audit.seeds_commanded += row.seeds_commanded;
        audit.seeds_lost_low += row.seeds_lost_low;
        audit.seeds_lost_high += row.seeds_lost_high;
        audit.notes.insert(audit.notes.end(), judge.notes.begin(), judge.notes.end());
        audit.rows.push_back(std::move(row));
    }
}

std::string percent(double share) {
    return fmt::format("{:.1f} %", 100.0 * share);
}

// What the neighbours would say of a row that is silent more often than they are.
void note_neighbours(const RowReport& row, Assumption assumption, std::vector<std::string>& notes) {
    if (!row.judge.neighbours || row.judge.neighbours->least_row == row.judge.row ||
        row.judge.model.background < 2.0 * row.judge.neighbours->least_silent_most)
        return;
    const Neighbours& least = *row.judge.neighbours;
    notes.push_back(
        fmt::format("Row {} is silent at {} of its drops between outages, row {} at {} only (at "
                    "most {}). Were all gates alike, seed would "
                    "be missing at {} or more of them; were all meters alike, at {} or less. {}",
                    row.judge.row, percent(row.judge.model.background), least.least_row,
                    percent(least.least_silent), percent(least.least_silent_most),
                    percent(least.missing_if_gates_alike), percent(least.missing_if_meters_alike),
                    assumption == Assumption::none ? "The drops alone can't tell which it is."
                    : assumption == Assumption::gates_alike
                        ? "That all gates are alike was stated by the user, and judged by."
                        : "That all meters are alike was stated by the user, and judged by."));
}

void note_efficiencies(FieldAudit& audit) {
    std::string rows;
    for (const RowReport& row : audit.rows) {
        if (!row.judge.efficiency && row.silent > 0)
            rows += fmt::format("{}{}", rows.empty() ? "" : ", ", row.judge.row);
        if (row.judge.efficiency && !row.judge.efficiency->source.empty())
            audit.notes.push_back(fmt::format(
                "Row {}: gate efficiency {} ({} to {}), calibration {}.", row.judge.row,
                percent(row.judge.efficiency->value), percent(row.judge.efficiency->low),
                percent(row.judge.efficiency->high), row.judge.efficiency->source));
        note_neighbours(row, audit.options.assumption, audit.notes);
    }
    if (!rows.empty())
        audit.notes.push_back(fmt::format(
            "No gate efficiency is known of {}: {}. What would settle them: a look at a length of "
            "the row, or a bench run of "
            "the unit against a second gate, then its calibration or the share it counts.",
            rows.find(',') == std::string::npos ? "row " + rows : "rows " + rows,
            audit.options.assumption == Assumption::none
                ? "their single silent drops can't be told"
                : "their single silent drops rest on the assumption stated"));
}

// The shortest length from which on at least nine in ten gaps raised an alert.
void find_silent_alarms(FieldAudit& audit) {
    if (!audit.field.has_alerts || audit.alerts.empty())
        return;
    std::vector<std::pair<std::int64_t, bool>> gaps;
    for (const Gap& gap : audit.gaps)
        gaps.emplace_back(gap.drops(), gap.alerts > 0);
    std::sort(gaps.begin(), gaps.end(), std::greater<>());
    std::int64_t with = 0;
    for (std::size_t i = 0; i < gaps.size(); ++i) {
        with += gaps[i].second ? 1 : 0;
        const bool last_of_length = i + 1 == gaps.size() || gaps[i + 1].first != gaps[i].first;
        if (last_of_length && 10 * with >= 9 * static_cast<std::int64_t>(i + 1))
            audit.alert_after_drops = gaps[i].first;
    }
    if (!audit.alert_after_drops)
        return;
    for (std::size_t i = 0; i < audit.gaps.size(); ++i)
        if (audit.gaps[i].alerts == 0 && audit.gaps[i].drops() >= *audit.alert_after_drops)
            audit.silent_alarms.push_back(i);
}

void add_reseed(FieldAudit& audit) {
    Reseed& reseed = audit.reseed;
    reseed.min_length_m = audit.options.reseed_min_m;
    for (const Gap& gap : audit.gaps) {
        if (gap.length_m < reseed.min_length_m)
            continue;
        reseed.undecided_gaps += judged(gap.missing) == Judgement::unknown ? 1 : 0;
        if (!audit.worth_reseeding(gap))
            continue;
        ++reseed.gaps;
        reseed.seeds += gap.seeds;
        reseed.length_m += gap.length_m;
        reseed.plants_lost +=
            gap.missing.low * static_cast<double>(gap.seeds) * audit.options.germination;
    }
    if (!audit.options.costs)
        return;
    const Costs& costs = *audit.options.costs;
    reseed.cost_of_nothing = costs.per_lost_plant * reseed.plants_lost;
    reseed.cost_of_reseeding = costs.per_gap * static_cast<double>(reseed.gaps) +
                               costs.per_reseeded_metre * reseed.length_m +
                               costs.per_seed * static_cast<double>(reseed.seeds);
}

} // namespace

std::int64_t FieldAudit::alerts_judged(Judgement judgement) const {
    return std::count_if(alerts.begin(), alerts.end(),
                         [&](const Alert& alert) { return judged(alert.missing) == judgement; });
}

bool FieldAudit::worth_reseeding(const Gap& gap) const {
    return gap.length_m >= options.reseed_min_m && judged(gap.missing) == Judgement::missing;
}

FieldAudit audit_field(Field field, FieldOptions options) {
    FieldAudit audit;
    audit.field = std::move(field);
    audit.options = std::move(options);
    audit.notes = audit.field.notes;
    for (const auto& given : audit.options.gate_efficiencies)
        if (std::none_of(audit.field.lines.begin(), audit.field.lines.end(),
                         [&](const auto& line) { return line.first.row == given.first; }))
            audit.notes.push_back(
                fmt::format("A gate efficiency is given for row {}, which the input does not hold.",
                            given.first));
    const Judged judged =
        judge_drops(audit.field, audit.options.gate_efficiencies, audit.options.assumption);
    audit.gaps = find_gaps(audit.field);
    judge_gaps(judged, audit.gaps);
    add_alerts(audit.field, judged, audit.alerts);
    add_lines(judged, audit);
    add_rows(audit, judged);
    note_efficiencies(audit);
    find_silent_alarms(audit);
    audit.gap_lengths = gap_lengths(audit.field, audit.gaps);
    audit.concentrations = concentrations(audit.field, audit.gaps);
    audit.causes = field_causes(audit);
    add_reseed(audit);
    audit.parts = field_parts(audit);
    return audit;
}

} // namespace dropledger::field
