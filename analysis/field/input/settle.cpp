// Puts what was read in order: passes whose numbers began anew are told apart, drops sorted, places
// that cannot be kept out, lacking drops counted.
#include "analysis/field/input/drops.hpp"
#include "analysis/field/input/lacking.hpp"
#include "analysis/field/input/places.hpp"
#include "analysis/field/input/visits.hpp"
#include "analysis/measures/number_words.hpp"
#include "analysis/statistics/basics/quantile.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::field {

namespace {

using Drops = std::vector<FieldDrop>;

// A drop given twice: the first stands, the others are bad rows.
bool keep_first(Field& field, Drops& drops) {
    if (grows(drops))
        return false;
    std::sort(drops.begin(), drops.end(), by_drop);
    std::size_t kept = 0;
    for (std::size_t i = 0; i < drops.size(); ++i) {
        if (kept > 0 && drops[kept - 1].drop == drops[i].drop) {
            ++field.facts.duplicates;
            add_bad(field, drops[i].line,
                    fmt::format("this pass, row and drop stand already in line {}",
                                drops[kept - 1].line));
        } else {
            drops[kept++] = drops[i];
        }
    }
    drops.resize(kept);
    return true;
}

// False where the line has no place to go by: its drops are bad rows.
bool keep_places(Field& field, Drops& drops) {
    const Mended mended = mend_places(drops, field.geographic);
    field.facts.places_kept_out += mended.kept_out;
    for (const FieldDrop& drop : drops)
        if (mended.hopeless)
            add_bad(field, drop.line, "no place on earth is known of this pass and row");
    return !mended.hopeless;
}

std::int64_t numbers_lacking_in(const Drops& drops) {
    return drops.back().drop - drops.front().drop + 1 - static_cast<std::int64_t>(drops.size());
}

// Drop numbers that lack, taken for silent drops.
void fill_drops(Field& field, Drops& drops) {
    Drops all;
    for (const FieldDrop& drop : drops) {
        while (!all.empty() && all.back().drop + 1 < drop.drop) {
            FieldDrop lacking = all.back();
            ++lacking.drop;
            lacking.at = place_between(all.back(), drop, lacking.drop);
            lacking.seen = 0;
            lacking.alert = false;
            lacking.has_offset = false;
            ++field.facts.filled_drops;
            all.push_back(lacking);
        }
        all.push_back(drop);
    }
    drops = std::move(all);
}

void count_steps(Field& field, const Drops& drops) {
    for (std::size_t i = 1; i < drops.size(); ++i) {
        ++field.facts.steps;
        field.facts.steps_of_one += drops[i].drop == drops[i - 1].drop + 1 ? 1 : 0;
        field.facts.still +=
            drops[i].at.x == drops[i - 1].at.x && drops[i].at.y == drops[i - 1].at.y ? 1 : 0;
    }
    field.facts.unknown_drops += numbers_lacking_in(drops);
}

bool across_date_line(const Field& field) {
    constexpr double near_line = 170.0;
    bool east = false;
    bool west = false;
    for (const auto& [key, line] : field.lines)
        if (!line.empty()) {
            east |= line.last().at.x > near_line;
            west |= line.last().at.x < -near_line;
        }
    return field.geographic && east && west;
}

// Times of day of a night that runs over midnight: the morning is the next day's.
bool over_midnight(const Field& field) {
    constexpr double evening_s = 15.0 * 3600.0;
    constexpr double morning_s = 12.0 * 3600.0;
    bool evening = false;
    bool morning = false;
    for (const auto& [key, line] : field.lines)
        if (!line.empty()) {
            evening |= line.last().time_s >= evening_s;
            morning |= line.last().time_s < morning_s;
        }
    return !field.facts.has_dates && evening && morning;
}

struct Shift {
    bool longitude = false;
    bool time = false;

    void apply(Drops& drops) const {
        for (FieldDrop& drop : drops) {
            drop.at.x += longitude && drop.has_place && drop.at.x < 0.0 ? 360.0 : 0.0;
            drop.time_s += time && drop.time_s < 12.0 * 3600.0 ? 86'400.0 : 0.0;
        }
    }
};

// Where no seed is commanded there is no drop; an alert there goes to the drop before it.
void leave_out_uncommanded(Drops& drops) {
    std::size_t kept = 0;
    for (const FieldDrop& drop : drops)
        if (drop.target > 0)
            drops[kept++] = drop;
        else if (drop.alert && kept > 0)
            drops[kept - 1].alert = true;
    drops.resize(kept);
}

// What of it lacks, unless that counts as silent.
Lacking settle_line(Field& field, const Shift& shift, const Answers& answers, Line& line) {
    Drops drops = line.drops();
    keep_first(field, drops);
    shift.apply(drops);
    if (!keep_places(field, drops)) {
        line = Line();
        return {};
    }
    constexpr std::int64_t most_lacking = 20; // times what is there
    count_steps(field, drops);
    Lacking lacking = lacking_in(drops, field.geographic);
    if (answers.lacking_drops == Means::silent &&
        numbers_lacking_in(drops) < most_lacking * static_cast<std::int64_t>(drops.size())) {
        fill_drops(field, drops);
        lacking.lost = lacking.open = 0;
    }
    leave_out_uncommanded(drops);
    field.drops += static_cast<std::int64_t>(drops.size());
    line = Line(drops);
    return lacking;
}

// Where the numbers step by design, or every second row lacks, they tell nothing; that was asked.
void keep_lost(Field& field, const std::map<LineKey, Lacking>& lacking) {
    if (2 * field.facts.steps_of_one < field.facts.steps)
        return;
    std::vector<double> steps_m;
    for (const auto& [key, of_line] : lacking)
        if (of_line.step_m)
            steps_m.push_back(*of_line.step_m);
    const auto usual_m =
        steps_m.empty() ? std::nullopt : std::optional(statistics::lower_median(steps_m));
    for (const auto& [key, of_line] : lacking)
        if (const auto lost = lost_of(of_line, usual_m); lost > 0)
            field.lost[key] = lost;
}

void check_times(Field& field, std::string_view source_has) {
    Facts& facts = field.facts;
    if (field.has_time && facts.rows > 0 && facts.times_unread >= facts.rows - field.rows_bad)
        field.has_time = false;
    if (facts.dates_ambiguous && facts.dates_show == DateOrder::month_first) {
        field.has_time = false;
        field.notes.emplace_back(
            "Some dates can only have the month first, others were read day first: times are left "
            "out. Say date_order = \"month\" in a mapping file.");
    }
    if (!field.has_time)
        field.notes.push_back(
            fmt::format("{} no time: nothing is said about the time of night.", source_has));
    else if (facts.times_unread > 0)
        field.notes.push_back(fmt::format(
            "{} times could not be read; those drops are taken to be of the time before them.",
            grouped(facts.times_unread)));
}

} // namespace

Place wrapped(const Place& at, bool geographic) {
    return geographic && at.x > 180.0 ? Place{at.x - 360.0, at.y} : at;
}

void settle(Field& field, std::string_view source_has, const Answers& answers) {
    split_visits(field);
    std::map<LineKey, Lacking> lacking;
    const Shift shift{across_date_line(field), over_midnight(field)};
    for (auto& [key, line] : field.lines)
        lacking[key] = settle_line(field, shift, answers, line);
    std::erase_if(field.lines, [](const auto& line) { return line.second.empty(); });
    keep_lost(field, lacking);
    std::sort(field.bad_samples.begin(), field.bad_samples.end(),
              [](const BadRow& a, const BadRow& b) { return a.line < b.line; });
    check_times(field, source_has);
    if (!field.has_alerts)
        field.notes.push_back(fmt::format(
            "{} no alerts: gaps are found and judged, but no alert can be.", source_has));
}

} // namespace dropledger::field
