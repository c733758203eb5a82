#include "analysis/field/field_causes.hpp"

#include "analysis/causes/period_scan.hpp"
#include "analysis/causes/speed_dependence.hpp"
#include "analysis/field/input/ground.hpp"
#include "analysis/statistics/basics/distributions.hpp"
#include "analysis/statistics/basics/multiplicity.hpp"
#include "analysis/statistics/shares/comparison.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::field {

namespace {

constexpr double level = 0.01; // family-wise, per kind
constexpr std::size_t drops_listed = 50;

void list_drops(const Gap& gap, FieldCause& cause) {
    for (std::int64_t drop = gap.first_drop;
         drop <= gap.last_drop && cause.drops.size() < drops_listed; ++drop)
        cause.drops.push_back(drop);
}

// Lasting silence: gaps that seed was probably missing in, and too long for the row's background.
struct Outages {
    std::vector<const Gap*> to_the_end; // of a pass
    std::vector<const Gap*> ended;
    std::int64_t drops = 0;
    double p_value = 1.0;
};

// P(one gap at least so long among the row's drops, were they independent at the background share).
double chance_of_length(const RowReport& row, const Gap& gap) {
    const double share =
        std::clamp(row.judge.model.background, 1.0 / static_cast<double>(row.drops + 1), 0.999);
    return std::min(1.0, static_cast<double>(row.drops) *
                             std::pow(share, static_cast<double>(gap.drops())));
}

Outages outages_of(const FieldAudit& audit, const RowReport& row) {
    constexpr std::int64_t least_drops = 3;
    Outages found;
    for (const Gap& gap : audit.gaps) {
        if (gap.key.row != row.judge.row || gap.drops() < least_drops ||
            (gap.begin == 0 && !gap.at_pass_end) || judged(gap.missing) != Judgement::missing)
            continue;
        const double p = chance_of_length(row, gap);
        if (p > level)
            continue;
        (gap.at_pass_end ? found.to_the_end : found.ended).push_back(&gap);
        found.drops += gap.drops();
        found.p_value = std::min(found.p_value, p);
    }
    return found;
}

// A silence at a pass's end that is no longer than those that ended may be one of them: P(one of
// them at least so long, were all lengths geometric with the mean of the ended ones).
bool may_have_ended(const Outages& found, const Gap& gap) {
    constexpr std::int64_t worth_naming = 10; // drops: a shorter one is bridging or the headland
    if (gap.drops() < worth_naming || found.ended.empty())
        return gap.drops() < worth_naming;
    double drops = 0.0;
    for (const Gap* const ended : found.ended)
        drops += static_cast<double>(ended->drops());
    const auto count = static_cast<double>(found.ended.size());
    return (count + 1.0) * std::pow(1.0 - count / drops, static_cast<double>(gap.drops() - 1)) >
           level;
}

void add_outages(const FieldAudit& audit, const RowReport& row, std::vector<FieldCause>& causes) {
    const Outages found = outages_of(audit, row);
    std::vector<const Gap*> bursts = found.ended;
    const Gap* emptied = nullptr;
    for (const Gap* const gap : found.to_the_end)
        if (may_have_ended(found, *gap))
            bursts.push_back(gap);
        else if (emptied == nullptr || gap->drops() > emptied->drops())
            emptied = gap;
    if (emptied != nullptr) {
        FieldCause cause{
            .kind = causes::CauseKind::empty_container,
            .row = row.judge.row,
            .pass = emptied->key.pass,
            .p_value = chance_of_length(row, *emptied),
            .evidence = fmt::format("silent for {} drops, from drop {} to the end of pass {}",
                                    emptied->drops(), emptied->first_drop, emptied->key.pass),
            .look_at = "is seed in the container; does it reach the meter; does the meter turn",
            .drops = {}};
        list_drops(*emptied, cause);
        causes.push_back(std::move(cause));
    }
    if (bursts.empty())
        return;
    const Gap* const longest =
        *std::max_element(bursts.begin(), bursts.end(),
                          [](const Gap* a, const Gap* b) { return a->drops() < b->drops(); });
    FieldCause cause{
        .kind = causes::CauseKind::bridging,
        .row = row.judge.row,
        .pass = longest->key.pass,
        .p_value = found.p_value,
        .evidence = fmt::format(
            "{} lasting silences that ended again, the longest {} drops from drop {} of "
            "pass {}",
            bursts.size(), longest->drops(), longest->first_drop, longest->key.pass),
        .look_at =
            "seed that bridges over the meter or sticks: seed dust, damp, agitator; a blocked tube",
        .drops = {}};
    list_drops(*longest, cause);
    causes.push_back(std::move(cause));
}

struct Blame {
    causes::CauseKind kind;
    std::string look_at;
};

// Which of the two an excess of single silent drops points at.
Blame blame_of(const RowJudge& judge) {
    if (judge.when_silent.best.value_or(judge.when_silent.low) >= 0.5)
        return {causes::CauseKind::meter,
                "the meter: cells, singulator, vacuum or brush; seed size against the disc"};
    if (judge.when_silent.best.value_or(judge.when_silent.high) < 0.5)
        return {causes::CauseKind::sensor,
                "the gate: dust on its windows, its alignment and supply; seed is there"};
    return {
        causes::CauseKind::meter_or_sensor,
        "gate and meter: clean the gate's windows, then look at a length of the row; a bench run "
        "against a second gate gives the gate's efficiency"};
}

// Independent silent drops of a row against those of all others.
void add_backgrounds(const FieldAudit& audit, std::vector<FieldCause>& causes) {
    std::vector<statistics::Group> groups;
    statistics::Group all;
    for (const RowReport& row : audit.rows) {
        const auto n = row.drops;
        const auto x = std::llround(row.judge.model.background * static_cast<double>(n));
        groups.push_back({.x = std::min<std::int64_t>(x, n), .n = n});
        all.x += groups.back().x;
        all.n += n;
    }
    if (groups.size() < 2)
        return;
    std::vector<double> p_values;
    for (const statistics::Group& group : groups) {
        const double others =
            static_cast<double>(all.x - group.x + 1) / static_cast<double>(all.n - group.n + 2);
        p_values.push_back(group.x == 0 ? 1.0
                                        : statistics::binomial_sf(group.x - 1, {group.n, others}));
    }
    const std::vector<double> adjusted = statistics::holm(p_values);
    for (std::size_t i = 0; i < groups.size(); ++i) {
        const RowJudge& judge = audit.rows[i].judge;
        const double others = static_cast<double>(all.x - groups[i].x + 1) /
                              static_cast<double>(all.n - groups[i].n + 2);
        if (adjusted[i] > level || judge.model.background < 1.5 * others)
            continue;
        const Blame blame = blame_of(judge);
        causes.push_back(
            {.kind = blame.kind,
             .row = judge.row,
             .pass = std::nullopt,
             .p_value = adjusted[i],
             .evidence = fmt::format(
                 "{:.2f} % of {} drops are silent one by one, {:.2f} % in the other rows",
                 100.0 * judge.model.background, groups[i].n, 100.0 * others),
             .look_at = blame.look_at,
             .drops = {}});
    }
}

// Passes that begin with silence, more often than drops in their middle are silent.
void add_start_loss(const FieldAudit& audit, const RowReport& row,
                    std::vector<FieldCause>& causes) {
    std::int64_t passes = 0;
    std::int64_t silent_first = 0;
    std::int64_t longest = 0;
    for (const auto& [key, line] : audit.field.lines) {
        if (key.row != row.judge.row)
            continue;
        ++passes;
        std::int64_t silent = 0;
        for (const FieldDrop& drop : line) {
            if (!drop.silent())
                break;
            ++silent;
        }
        if (silent == static_cast<std::int64_t>(line.size()))
            continue; // a pass that is silent as a whole says nothing of its start
        silent_first += silent > 0 ? 1 : 0;
        longest = std::max(longest, silent);
    }
    const double share =
        static_cast<double>(row.silent) / static_cast<double>(std::max<std::int64_t>(1, row.drops));
    if (silent_first < 2 || share >= 1.0)
        return;
    const double rows = static_cast<double>(audit.rows.size());
    const double p =
        std::min(1.0, rows * statistics::binomial_sf(silent_first - 1, {passes, share}));
    if (p > level)
        return;
    causes.push_back(
        {.kind = causes::CauseKind::start_loss,
         .row = row.judge.row,
         .pass = std::nullopt,
         .p_value = p,
         .evidence = fmt::format(
             "{} of {} passes begin silent, up to {} drops long; {:.2f} % of all drops are",
             silent_first, passes, longest, 100.0 * share),
         .look_at = "when the meter starts: it is not yet filled at the first drop of a pass",
         .drops = {}});
}

struct CellScan {
    std::optional<causes::Periodic> best;
    std::int64_t in_pass = 0;
    std::int64_t scanned = 0; // passes
    std::int64_t found_in = 0;
};

// The residue may differ from pass to pass: each is scanned alone.
CellScan scan_cells(const FieldAudit& audit, const RowReport& row) {
    CellScan all;
    for (const auto& [key, line] : audit.field.lines) {
        if (key.row != row.judge.row)
            continue;
        ++all.scanned;
        if (std::count_if(line.begin(), line.end(),
                          [](const FieldDrop& drop) { return drop.silent(); }) < 3)
            continue;
        causes::PeriodScan scan(std::nullopt);
        for (const FieldDrop& drop : line)
            scan.add(drop.drop, drop.silent());
        const auto found = scan.strongest();
        if (!found)
            continue;
        all.found_in += found->p_value < level ? 1 : 0;
        if (!all.best || found->p_value < all.best->p_value) {
            all.best = found;
            all.in_pass = key.pass;
        }
    }
    return all;
}

void add_bad_cell(const FieldAudit& audit, const RowReport& row, std::vector<FieldCause>& causes) {
    const CellScan scan = scan_cells(audit, row);
    const double looks = static_cast<double>(scan.scanned) * static_cast<double>(audit.rows.size());
    if (!scan.best || scan.best->p_value * looks > level)
        return;
    const causes::Periodic& best = *scan.best;
    FieldCause cause{
        .kind = causes::CauseKind::bad_cell,
        .row = row.judge.row,
        .pass = scan.in_pass,
        .p_value = best.p_value * looks,
        .evidence =
            fmt::format("every {}th drop: {} of {} are silent there in pass {}, {} of {} in all of "
                        "the pass; in {} of {} passes",
                        best.cells, best.hits, best.drops, scan.in_pass, best.all_hits,
                        best.all_drops, scan.found_in, scan.scanned),
        .look_at = fmt::format("one of {} cells of the metering disc: blocked, worn or damaged",
                               best.cells),
        .drops = {}};
    for (const FieldDrop& drop : audit.field.lines.at({scan.in_pass, row.judge.row}))
        if (drop.drop % best.cells == best.residue && drop.silent() &&
            cause.drops.size() < drops_listed)
            cause.drops.push_back(drop.drop);
    causes.push_back(std::move(cause));
}

std::optional<causes::SpeedRun> pass_at_speed(const FieldAudit& audit, const LineReport& line) {
    constexpr double least_m = 5.0; // a shorter pass is a headland's
    const std::vector<FieldDrop>& drops = audit.field.lines.at(line.key);
    double length_m = 0.0;
    for (std::size_t i = 1; i < line.outline.size(); ++i)
        length_m += distance_m(line.outline[i - 1], line.outline[i], audit.field.geographic);
    const double time_s = std::abs(drops.back().time_s - drops.front().time_s);
    if (length_m < least_m || time_s <= 0.0)
        return std::nullopt;
    causes::SpeedRun run;
    run.speed_mps = length_m / time_s;
    run.drops = line.drops;
    run.misses = line.silent;
    return run;
}

// Time and place tell the speed of each pass.
void add_speed_dependence(const FieldAudit& audit, const RowReport& row,
                          std::vector<FieldCause>& causes) {
    if (!audit.field.has_time)
        return;
    std::vector<causes::SpeedRun> passes;
    for (const LineReport& line : audit.lines)
        if (line.key.row == row.judge.row)
            if (const auto run = pass_at_speed(audit, line))
                passes.push_back(*run);
    const auto rows = static_cast<double>(audit.rows.size());
    for (const causes::Cause& found :
         causes::speed_causes(passes, {.misses = "silent drops", .runs = "passes"}))
        if (found.p_value * rows <= level)
            causes.push_back({.kind = found.kind,
                              .row = row.judge.row,
                              .pass = std::nullopt,
                              .p_value = found.p_value * rows,
                              .evidence = found.evidence,
                              .look_at = found.look_at,
                              .drops = {}});
}

} // namespace

std::vector<FieldCause> field_causes(const FieldAudit& audit) {
    std::vector<FieldCause> causes;
    for (const RowReport& row : audit.rows) {
        add_outages(audit, row, causes);
        add_bad_cell(audit, row, causes);
        add_start_loss(audit, row, causes);
        add_speed_dependence(audit, row, causes);
    }
    add_backgrounds(audit, causes);
    std::stable_sort(causes.begin(), causes.end(),
                     [](const FieldCause& a, const FieldCause& b) { return a.row < b.row; });
    return causes;
}

} // namespace dropledger::field
