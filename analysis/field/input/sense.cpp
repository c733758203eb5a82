#include "analysis/field/input/sense.hpp"

#include "analysis/field/input/ground.hpp"
#include "analysis/field/input/swapped.hpp"
#include "analysis/measures/number_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>

namespace dropledger::field {

namespace {

struct Question {
    std::string_view key; // of `accepted`; empty where no answer makes the table right
    std::string fact;
    std::string remedy;
};
using Questions = std::vector<Question>;

std::string percent(std::int64_t part, std::int64_t whole) {
    return fmt::format("{:.1f} %", 100.0 * static_cast<double>(part) /
                                       static_cast<double>(std::max<std::int64_t>(1, whole)));
}

double median(std::vector<double> values) {
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

std::optional<double> median_of(const std::vector<double>& values) {
    return values.empty() ? std::nullopt : std::optional(median(values));
}

void add_target(const Field& field, Questions& questions) {
    const Facts& facts = field.facts;
    const std::int64_t good = facts.rows - field.rows_bad;
    if (good > 0 && facts.target_none == good)
        questions.push_back({"", "the target of every drop is 0: no seed was commanded anywhere",
                             "name the column that holds the seeds commanded in a mapping file"});
    if (good > 0 && 2 * facts.seen_above > good)
        questions.push_back({"seen-above-target",
                             fmt::format("more seeds are seen than commanded at {} of the drops",
                                         percent(facts.seen_above, good)),
                             "are the columns target and seen the right way round, and does seen "
                             "count one drop's seeds? Name them in a mapping file; where the unit "
                             "really feeds so much"});
}

void add_alerts(const Field& field, Questions& questions) {
    if (2 * field.facts.alert_words > field.facts.rows)
        questions.push_back(
            {"alerts", "most rows have a word in alert that is neither yes nor no",
             "does alert say something at every drop? Name the column that says whether there was "
             "an "
             "alert in a mapping file, or write 0 and 1; where every such word is an alert"});
    const Facts& facts = field.facts;
    const std::int64_t good = facts.rows - field.rows_bad;
    if (2 * facts.alerts > good && facts.alerts > 2 * facts.seen_none)
        questions.push_back(
            {"alerts",
             fmt::format("an alert stands at {} of the drops, and nothing was seen at {}",
                         percent(facts.alerts, good), percent(facts.seen_none, good)),
             "does alert say at each drop that all is well? Exchange its 0 and 1, or name another "
             "column in a mapping file; where the machine alerts so often"});
}

// Numbers that fall as time goes on: some machines number drops from one end of the field.
void add_order(const Ground& ground, Questions& questions) {
    if (10 * ground.falling_lines > 3 * ground.timed_lines)
        questions.push_back(
            {"times",
             fmt::format("drop numbers fall as time goes on along {} of the passes' rows",
                         percent(ground.falling_lines, ground.timed_lines)),
             "are drops numbered from one end of the field, whatever the way driven? Number them "
             "in each pass as they were sown; where the numbers are right and the times are not"});
}

// Times in another unit show in how fast the machine would have been.
void add_speed(const Ground& ground, Questions& questions) {
    constexpr double slowest_mps = 0.005;
    constexpr double fastest_mps = 20.0;
    const auto speed = ground.speed_mps;
    if (speed && (*speed < slowest_mps || *speed > fastest_mps))
        questions.push_back({"times",
                             fmt::format("by its times the machine drove at {:.4g} m/s", *speed),
                             "is time in another unit? Name it in a mapping file ([units] time: s, "
                             "ms, us, or day, as "
                             "spreadsheets count); where the times are right"});
}

void add_duplicates(const Field& field, Questions& questions) {
    const Facts& facts = field.facts;
    constexpr std::int64_t few = 10; // whatever their share: single lines written twice
    if (facts.duplicates <= few || facts.duplicates * 33 <= facts.rows)
        return;
    questions.push_back(
        {"duplicates",
         fmt::format("{} of the rows ({}) give a pass, row and drop that stands already above",
                     percent(facts.duplicates, facts.rows), grouped(facts.duplicates)),
         "do pass numbers begin anew on each field? Add a column named field, or give each field's "
         "table by itself, several in one call; where the first row of each is the right one"});
}

// Drop numbers that lack: is it every second one, or the silent ones, or holes?
void add_steps(const Field& field, const Answers& answers, Questions& questions) {
    const Facts& facts = field.facts;
    const std::int64_t drops = field.drops - facts.filled_drops;
    constexpr std::int64_t few = 20; // too little to tell a habit by
    if (facts.unknown_drops <= 0 || facts.steps < few || answers.lacking_drops != Means::ask)
        return;
    if (2 * facts.steps_of_one < facts.steps) {
        questions.push_back(
            {"",
             fmt::format("only {} of the drop numbers follow on each other; {} numbers lack",
                         percent(facts.steps_of_one, facts.steps), grouped(facts.unknown_drops)),
             "does the table hold every second drop only? Export them all; where the machine "
             "counts in steps of N say `drop_step` N; where the others are unknown say "
             "`lacking_drops` unknown"});
        return;
    }
    const bool none_silent = facts.seen_none * 20 < facts.unknown_drops;
    if (none_silent && facts.unknown_drops * 2000 > drops)
        questions.push_back(
            {"",
             fmt::format("{} drop numbers lack within the passes, and hardly any row has seen = 0 "
                         "({})",
                         grouped(facts.unknown_drops), grouped(facts.seen_none)),
             "were the rows of silent drops left out? Export them, or say `lacking_drops` silent; "
             "where they are simply lost say `lacking_drops` unknown"});
}

void add_spacing(const Ground& ground, const Answers& answers, Questions& questions) {
    constexpr double alike = 0.15;
    if (!ground.spacing_m)
        return;
    if (answers.spacing_m && std::abs(*ground.spacing_m / *answers.spacing_m - 1.0) > alike)
        questions.push_back(
            {"spacing",
             fmt::format("drops lie {:.3f} m apart by their places and {:.3f} m as stated",
                         *ground.spacing_m, *answers.spacing_m),
             "are lat and lon swapped, the unit or the UTM zone another, or drops left out? Name "
             "the columns in a mapping file; where the places are right"});
    if (ground.north_south_m && ground.east_west_m &&
        std::abs(*ground.north_south_m / *ground.east_west_m - 1.0) > alike)
        questions.push_back(
            {"spacing",
             fmt::format("drops lie {:.3f} m apart on passes that run north or south and {:.3f} m "
                         "on passes that run east or west",
                         *ground.north_south_m, *ground.east_west_m),
             "are lat and lon swapped? Name the columns in a mapping file; where the spacing was "
             "changed on the way"});
}

void add_swapped(const Field& field, Questions& questions) {
    if (look_swapped(field))
        questions.push_back({"swapped",
                             "as lat and lon stand the machine's rows lie aslant or its drops are "
                             "unevenly far apart; "
                             "the other way round all is square and even",
                             "are lat and lon swapped? Name the columns the other way round in a "
                             "mapping file; where "
                             "they are right"});
}

void add_places(const Field& field, Questions& questions) {
    const Facts& facts = field.facts;
    if (10 * facts.still > 3 * facts.steps && facts.steps > 20)
        questions.push_back(
            {"coarse-places",
             fmt::format("{} of the drops stand at the very place of the drop before them: places "
                         "are coarse, or the machine stood",
                         percent(facts.still, facts.steps)),
             "export places with 7 decimals of a degree, or to the centimetre; where coarse ones "
             "must do (lengths are then taken from the count of drops)"});
    if (5 * facts.places_kept_out > field.drops)
        questions.push_back({"places",
                             fmt::format("{} of the places are 0,0, blank, or lie where no machine "
                                         "can have driven",
                                         percent(facts.places_kept_out, field.drops)),
                             "was there no position fix? Where what is left must do"});
}

std::string remedy_of(const Question& question) {
    return question.key.empty() ? question.remedy
                                : fmt::format("{} say `accept` {}", question.remedy, question.key);
}

Status asked(const std::string& file, const Questions& all, const Answers& answers) {
    std::string facts;
    std::string remedies;
    for (const Question& one : all) {
        if (!one.key.empty() && answers.accepted.contains(std::string(one.key)))
            continue;
        facts += (facts.empty() ? "" : "; and ") + one.fact;
        remedies += (remedies.empty() ? "" : ". And ") + remedy_of(one);
    }
    if (facts.empty())
        return Done{};
    return Error{ErrorKind::input, file, "nothing was judged: " + facts, remedies};
}

// From the first number to the last; 0 where the table has no times.
double seconds_along(const Field& field, const std::vector<FieldDrop>& drops) {
    return field.has_time ? drops.back().time_s - drops.front().time_s : 0.0;
}

} // namespace

Ground ground_of(const Field& field) {
    constexpr std::size_t least_drops = 20;
    Ground ground;
    std::vector<double> all;
    std::vector<double> north;
    std::vector<double> east;
    std::vector<double> speeds;
    for (const auto& [key, line] : field.lines) {
        if (line.size() < least_drops)
            continue;
        const auto drops = line.drops();
        const double length_m = length_along_m(drops, field.geographic);
        const auto steps = static_cast<double>(drops.back().drop - drops.front().drop);
        const double took_s = seconds_along(field, drops);
        const double seconds = std::abs(took_s);
        ground.timed_lines += static_cast<std::int64_t>(took_s != 0.0);
        ground.falling_lines += static_cast<std::int64_t>(took_s < 0.0);
        if (!(length_m > 0.0) || steps <= 0.0)
            continue;
        all.push_back(length_m / steps);
        if (seconds > 0.0)
            speeds.push_back(length_m / seconds);
        const Place corner{drops.back().at.x, drops.front().at.y};
        const double across = flat_distance_m(drops.front().at, corner, field.geographic);
        const double up = flat_distance_m(corner, drops.back().at, field.geographic);
        if (std::hypot(up, across) < 0.9 * length_m)
            continue; // round the field: neither way
        if (up > 3.0 * across)
            north.push_back(length_m / steps);
        else if (across > 3.0 * up)
            east.push_back(length_m / steps);
    }
    ground.spacing_m = median_of(all);
    ground.speed_mps = median_of(speeds);
    ground.north_south_m = median_of(north);
    ground.east_west_m = median_of(east);
    return ground;
}

Status check_blanks(const Field& field, const std::string& file, const Answers& answers) {
    const Facts& facts = field.facts;
    constexpr std::int64_t few = 3;
    if (answers.blank_seen != Means::ask || facts.seen_blank <= few ||
        facts.seen_blank <= facts.seen_none)
        return Done{};
    return Error{
        ErrorKind::input, file,
        fmt::format("nothing was judged: seen is blank in {} rows and 0 in {}",
                    grouped(facts.seen_blank), grouped(facts.seen_none)),
        "does a blank mean that no seed was seen? Say `blank_means` none; where it means that "
        "nothing is known say `blank_means` unknown"};
}

Status check_sense(const Field& field, const std::string& file, const Answers& answers) {
    Questions questions;
    add_target(field, questions);
    add_duplicates(field, questions);
    add_steps(field, answers, questions);
    add_alerts(field, questions);
    const Ground ground = ground_of(field);
    add_speed(ground, questions);
    add_order(ground, questions);
    add_swapped(field, questions);
    add_spacing(ground, answers, questions);
    add_places(field, questions);
    return asked(file, questions, answers);
}

} // namespace dropledger::field
