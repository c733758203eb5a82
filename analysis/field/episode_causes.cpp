#include "analysis/field/row_causes.hpp"
#include "analysis/measures/number_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::field {

namespace {

using causes::CauseKind;

constexpr std::size_t drops_listed = 50;

// What all silences of one trace in a row have in common.
struct Group {
    std::vector<const Episode*> episodes;
    const Episode* longest = nullptr;
    std::int64_t drops = 0;
    std::int64_t silent = 0;
};

Group group_of(const RowReport& row, Trace trace) {
    Group group;
    for (const Episode& one : row.judge.episodes) {
        if (one.trace != trace)
            continue;
        group.episodes.push_back(&one);
        group.drops += one.drops;
        group.silent += one.silent;
        if (group.longest == nullptr || group.longest->drops < one.drops)
            group.longest = &one;
    }
    return group;
}

// P(one so long among the row's drops, were they independent at the background share).
double chance_of_length(const RowReport& row, const Episode& episode) {
    const double share =
        std::clamp(row.judge.silent_share, 1.0 / static_cast<double>(row.drops + 1), 0.95);
    return std::min(1.0, static_cast<double>(row.drops) *
                             std::pow(share, static_cast<double>(episode.silent)));
}

double seeds_per_drop(const RowReport& row) {
    return row.drops > 0 ? row.seeds_commanded / static_cast<double>(row.drops) : 1.0;
}

FieldCause cause_of(const RowReport& row, const Group& group, CauseKind kind,
                    std::vector<CauseKind> could_be) {
    const Episode& longest = *group.longest;
    FieldCause cause;
    cause.kind = kind;
    cause.could_be = std::move(could_be);
    cause.row = row.judge.row;
    cause.pass = longest.first_key.pass;
    cause.last_pass = longest.last_key.pass;
    cause.p_value = chance_of_length(row, longest);
    cause.seeds = static_cast<double>(group.silent) * seeds_per_drop(row);
    const std::int64_t last =
        longest.first_key == longest.last_key ? longest.last_drop : longest.first_drop + 49;
    for (std::int64_t drop = longest.first_drop; drop <= last && cause.drops.size() < drops_listed;
         ++drop)
        cause.drops.push_back(drop);
    return cause;
}

std::string where(const Episode& one) {
    if (one.first_key == one.last_key)
        return fmt::format("in pass {}, drops {} to {}", one.first_key.pass, one.first_drop,
                           one.last_drop);
    return fmt::format("from drop {} of pass {} to drop {} of pass {}", one.first_drop,
                       one.first_key.pass, one.last_drop, one.last_key.pass);
}

FieldCause gave_out(const RowReport& row, const Group& group) {
    FieldCause cause =
        cause_of(row, group, CauseKind::empty_container,
                 {CauseKind::blocked_tube, CauseKind::valve_closed, CauseKind::gate_going_blind});
    cause.evidence =
        fmt::format("gaps grew over {} drops, then silence for {} drops {}{}",
                    grouped(group.longest->run_up), grouped(group.longest->drops),
                    where(*group.longest), group.longest->to_row_end ? ", to the end" : "");
    cause.look_at = "is seed in the container, does it reach the meter, does the meter turn; then "
                    "the tube";
    return cause;
}

FieldCause faded(const RowReport& row, const Group& group) {
    FieldCause cause =
        cause_of(row, group, CauseKind::gate_going_blind, {CauseKind::empty_container});
    cause.evidence = fmt::format("silence grew over {} drops before it lasted {}, {} drops",
                                 grouped(group.longest->run_up), where(*group.longest),
                                 grouped(group.longest->drops));
    cause.look_at = "the sensor's windows: dust; then dig at one gap, and look into the container";
    return cause;
}

FieldCause stopped(const RowReport& row, const Group& group) {
    const Episode& one = *group.longest;
    const bool tube_first = one.to_row_end || one.over_pass_end;
    FieldCause cause =
        cause_of(row, group, tube_first ? CauseKind::blocked_tube : CauseKind::valve_closed,
                 {tube_first ? CauseKind::valve_closed : CauseKind::blocked_tube,
                  CauseKind::empty_container, CauseKind::cable});
    if (!tube_first)
        cause.could_be.insert(cause.could_be.end() - 1, CauseKind::bridging);
    cause.evidence =
        fmt::format("silent of a sudden for {} drops {}{}", grouped(one.drops), where(one),
                    one.to_row_end ? ", to the end" : ", then sound again");
    cause.look_at = tube_first ? "tube and opener, valve, container, in this order; the sensor's "
                                 "cable last"
                               : "the valve; tube and opener, container; the sensor's cable last";
    return cause;
}

FieldCause burst(const RowReport& row, const Group& group) {
    FieldCause cause =
        cause_of(row, group, CauseKind::bridging,
                 {CauseKind::valve_closed, CauseKind::blocked_tube, CauseKind::cable});
    cause.evidence = fmt::format("one lasting silence that ended again, {} drops {}",
                                 grouped(group.longest->drops), where(*group.longest));
    cause.look_at = "seed that bridges over the meter or sticks: seed dust, damp, agitator";
    return cause;
}

FieldCause intermittent(const RowReport& row, const Group& group) {
    constexpr std::size_t few = 3;
    constexpr double wholly = 0.985;
    const double silent = static_cast<double>(group.silent) / static_cast<double>(group.drops);
    const bool cable_first = silent > wholly;
    std::vector<CauseKind> could_be{cable_first ? CauseKind::bridging : CauseKind::cable};
    if (group.episodes.size() <= few)
        could_be.insert(could_be.end(), {CauseKind::valve_closed, CauseKind::blocked_tube});
    FieldCause cause =
        cause_of(row, group, cable_first ? CauseKind::cable : CauseKind::bridging, could_be);
    cause.evidence =
        fmt::format("{} lasting silences that came and went of a sudden, the longest {} drops {}",
                    grouped(static_cast<std::int64_t>(group.episodes.size())),
                    grouped(group.longest->drops), where(*group.longest));
    cause.look_at = "dig at one gap first: seed there means sensor, plug or cable (wiggle the "
                    "plug); none means seed that bridges over the meter (dust, damp, agitator)";
    return cause;
}

FieldCause together(const RowReport& row, const Group& group) {
    FieldCause cause = cause_of(row, group, CauseKind::cable, {CauseKind::valve_closed});
    for (const Episode* const one : group.episodes)
        for (const std::int64_t other : one->other_rows)
            if (std::find(cause.rows_alike.begin(), cause.rows_alike.end(), other) ==
                cause.rows_alike.end())
                cause.rows_alike.push_back(other);
    std::sort(cause.rows_alike.begin(), cause.rows_alike.end());
    cause.evidence = fmt::format(
        "{} silences at the very drops at which row{} {} fell silent too, the longest {} drops {}",
        grouped(static_cast<std::int64_t>(group.episodes.size())),
        cause.rows_alike.size() == 1 ? "" : "s", fmt::join(cause.rows_alike, ", "),
        grouped(group.longest->drops), where(*group.longest));
    cause.look_at = "dig at one gap first: seed there means the plug or cable that these rows "
                    "share; none means their drive or their air";
    return cause;
}

FieldCause trickled(const RowReport& row, const Group& group) {
    const Episode& one = *group.longest;
    FieldCause cause = cause_of(row, group, CauseKind::meter_or_sensor,
                                {CauseKind::bridging, CauseKind::blocked_tube, CauseKind::cable,
                                 CauseKind::empty_container});
    cause.evidence =
        fmt::format("{} only {} of {} drops showed a seed {}{}: where none falls hardly one does",
                    one.from_row_begin ? "from the row's first drop on" : "of a sudden",
                    grouped(one.drops - one.silent), grouped(one.drops), where(one),
                    one.to_row_end ? ", to the end" : ", then sound");
    cause.look_at = "dig at one place of it first: seed at every drop means the sensor's windows "
                    "or plug; hardly any means meter, container or tube";
    return cause;
}

FieldCause from_first(const RowReport& row, const Group& group) {
    const Episode& one = *group.longest;
    FieldCause cause =
        cause_of(row, group, CauseKind::cable,
                 {CauseKind::empty_container, CauseKind::blocked_tube, CauseKind::valve_closed});
    cause.evidence =
        fmt::format("silent from the row's first drop on, for {} drops{}: nothing shows that its "
                    "sensor could see by then",
                    grouped(one.drops), one.to_row_end ? ", to the end" : ", then sound");
    cause.look_at =
        "dig at one place of it first; then the sensor's plug and cable, or container and tube";
    return cause;
}

FieldCause never_seen(const RowReport& row, const Group& group) {
    FieldCause cause =
        cause_of(row, group, CauseKind::cable,
                 {CauseKind::empty_container, CauseKind::blocked_tube, CauseKind::valve_closed});
    cause.evidence = fmt::format("nothing was seen in all {} drops", grouped(row.drops));
    cause.look_at =
        "dig at one place first; then the sensor's plug and cable, or container and tube";
    cause.p_value = 0.0;
    return cause;
}

} // namespace

std::vector<FieldCause> episode_causes(const RowReport& row) {
    using Make = FieldCause (*)(const RowReport&, const Group&);
    struct Rule {
        Trace trace;
        Make make;
    };
    constexpr std::array rules{
        Rule{Trace::gave_out, gave_out},    Rule{Trace::faded, faded},
        Rule{Trace::stopped, stopped},      Rule{Trace::burst, burst},
        Rule{Trace::together, together},    Rule{Trace::intermittent, intermittent},
        Rule{Trace::trickled, trickled},    Rule{Trace::from_first, from_first},
        Rule{Trace::never_seen, never_seen}};
    std::vector<FieldCause> found;
    for (const Rule& rule : rules) {
        const Group group = group_of(row, rule.trace);
        if (group.longest != nullptr)
            found.push_back(rule.make(row, group));
    }
    return found;
}

} // namespace dropledger::field
