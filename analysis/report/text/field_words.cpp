#include "analysis/report/text/field_words.hpp"

#include "analysis/report/words/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::report::field {

using namespace dropledger::field;
using causes::CauseKind;

namespace {

// "12", or "between 3 and 12" where the judgement is open.
std::string between(double low, double high) {
    const auto a = std::llround(low);
    const auto b = std::llround(high);
    return a == b ? grouped(a) : fmt::format("between {} and {}", grouped(a), grouped(b));
}

// "Row 4", and the unit in it where the input says.
std::string row_words(const FieldAudit& audit, std::int64_t row) {
    const auto unit = audit.field.units.find(row);
    const std::string name = audit.field.row_name(row);
    return unit == audit.field.units.end() || unit->second.empty()
               ? fmt::format("Row {}", name)
               : fmt::format("Row {} (unit {})", name, unit->second);
}

bool gives_short(const RowReport& row) {
    constexpr double enough = 0.95;
    return row.judge.reported_share && *row.judge.reported_share < enough;
}

bool needs_looking_at(const FieldAudit& audit, std::int64_t row) {
    const bool blamed = std::any_of(audit.causes.begin(), audit.causes.end(),
                                    [&](const FieldCause& cause) { return cause.row == row; });
    return blamed || std::any_of(audit.gaps.begin(), audit.gaps.end(), [&](const Gap& gap) {
               return gap.key.row == row && gap.length_m >= audit.options.reseed_min_m &&
                      judged(gap.missing) != Judgement::sensor;
           });
}

// What does not need doing.
void add_sound_rows(const FieldAudit& audit, std::vector<std::string>& sentences) {
    std::string rows;
    std::size_t count = 0;
    for (const RowReport& row : audit.rows)
        if (!gives_short(row) && !needs_looking_at(audit, row.judge.row)) {
            rows +=
                fmt::format("{}{}", rows.empty() ? "" : ", ", audit.field.row_name(row.judge.row));
            ++count;
        }
    if (count > 0)
        sentences.push_back(fmt::format(
            "{} {} need{} nothing{}: no cause was found there, and no gap of {} m or more.",
            count == 1 ? "Row" : "Rows", rows, count == 1 ? "s" : "",
            audit.lacking.empty() ? "" : " by what the table has", audit.options.reseed_min_m));
}

void add_open_gaps(const FieldAudit& audit, std::vector<std::string>& sentences) {
    const Reseed& reseed = audit.reseed;
    if (reseed.undecided_gaps > 0)
        sentences.push_back(fmt::format(
            "{} more, {} m and {} seeds, {} as long, but whether seed is missing there can't "
            "be told.",
            counted(static_cast<std::uint64_t>(reseed.undecided_gaps), "gap"),
            grouped(reseed.undecided_length_m, 1), grouped(reseed.undecided_seeds),
            reseed.undecided_gaps == 1 ? "is" : "are"));
}

void add_short_rows(const FieldAudit& audit, std::vector<std::string>& sentences) {
    for (const RowReport& row : audit.rows)
        if (gives_short(row))
            sentences.push_back(fmt::format(
                "Row {}: the sensor reported {:.1f} % of the seeds commanded in portions. {}",
                audit.field.row_name(row.judge.row), 100.0 * *row.judge.reported_share,
                row.judge.efficiency
                    ? "What short portions lack beyond what the sensor overlooks is in the plants "
                      "lost."
                    : "Does the meter give too few, or does the sensor overlook some: count a "
                      "length of the row. The plants lost allow for either."));
}

void add_guard(const FieldAudit& audit, std::vector<std::string>& sentences) {
    for (const RowReport& row : audit.rows)
        if (row.within_guard)
            sentences.push_back(fmt::format(
                "Row {}: {:.2f} % of {} places are within {} mm, the guard of blind hoeing; "
                "{:.2f} % are not.",
                audit.field.row_name(row.judge.row), 100.0 * *row.within_guard,
                grouped(row.offsets), *audit.options.guard_mm, 100.0 * (1.0 - *row.within_guard)));
}

} // namespace

std::string_view judgement_words(Judgement judgement) {
    switch (judgement) {
    case Judgement::missing:
        return "seed missing";
    case Judgement::sensor:
        return "sensor missed it";
    case Judgement::unknown:
        return "can't tell";
    }
    throw BrokenInvariant("a judgement without words");
}

std::string kinds_words(const std::vector<CauseKind>& kinds) {
    std::string text;
    for (std::size_t i = 0; i < kinds.size(); ++i)
        text += fmt::format("{}{}",
                            i == 0                  ? ""
                            : i + 1 == kinds.size() ? " or "
                                                    : ", ",
                            words_of(kinds[i]));
    return text;
}

std::string lost_words(const FieldAudit& audit, const FieldPart& part) {
    const double germination = audit.options.germination;
    std::string text = fmt::format(
        "{} of {}", between(part.seeds_lost_low * germination, part.seeds_lost_high * germination),
        grouped(std::llround(part.seeds_commanded * germination)));
    std::string rows;
    for (const std::int64_t row : part.worst_rows)
        rows += fmt::format("{}{}", rows.empty() ? "" : ", ", audit.field.row_name(row));
    return rows.empty() ? text : fmt::format("{}, most in row {}", text, rows);
}

std::string single_silent_words(const RowJudge& row) {
    if (row.missing_when_silent)
        return fmt::format("{:.2f}", *row.missing_when_silent);
    if (row.when_silent.low > 0.0 || row.when_silent.high < 1.0)
        return fmt::format("{:.2f} to {:.2f}, see the notes", row.when_silent.low,
                           row.when_silent.high);
    return row.efficiency ? "not known: see the notes" : "not known: no sensor efficiency";
}

std::vector<std::string> alert_sentences(const FieldAudit& audit) {
    std::vector<std::string> sentences;
    std::int64_t alone = 0;
    for (const Alert& alert : audit.alerts)
        alone += alert.gap ? 0 : 1;
    if (audit.alert_delay && audit.alert_delay->drops > 0)
        sentences.push_back(fmt::format(
            "Alerts come {} drops behind the silent drop that set them off (so do {:.0f} % of "
            "them); each is counted with its gap.",
            audit.alert_delay->drops, 100.0 * audit.alert_delay->explains));
    if (alone > 0)
        sentences.push_back(fmt::format("{} of the alerts have no silent drop near before them: "
                                        "what set them off can't be told.",
                                        grouped(alone)));
    if (audit.alert_after_drops)
        sentences.push_back(
            fmt::format("Alerts seem to come from {} silent drops on; {} gaps so long raised none.",
                        grouped(*audit.alert_after_drops),
                        grouped(static_cast<std::int64_t>(audit.silent_alarms.size()))));
    for (const RowReport& row : audit.rows) {
        const auto open =
            std::count_if(audit.alerts.begin(), audit.alerts.end(), [&](const Alert& alert) {
                return alert.key.row == row.judge.row &&
                       judged(alert.missing) == Judgement::unknown;
            });
        if (open > 0)
            sentences.push_back(fmt::format("Row {}: {} can't be told.",
                                            audit.field.row_name(row.judge.row),
                                            counted(static_cast<std::uint64_t>(open), "alert")));
    }
    return sentences;
}

namespace {

std::vector<std::string> decision_sentences(const FieldAudit& audit) {
    std::vector<std::string> sentences;
    const double all = audit.seeds_commanded * audit.options.germination;
    sentences.push_back(fmt::format(
        "Plants lost: {} of {} ({:.2f} to {:.2f} % of the stand; germination {}, {}).",
        between(audit.plants_lost_low(), audit.plants_lost_high()), grouped(std::llround(all)),
        all > 0.0 ? 100.0 * audit.plants_lost_low() / all : 0.0,
        all > 0.0 ? 100.0 * audit.plants_lost_high() / all : 0.0, audit.options.germination,
        audit.options.germination == 1.0 ? "taken, not known" : "as you said"));
    const Reseed& reseed = audit.reseed;
    if (reseed.gaps > 0)
        sentences.push_back(fmt::format(
            "Re-seeding {} of {} m and more, {} m in all, takes {} seeds and about {} min, and "
            "brings back {} plants.",
            counted(static_cast<std::uint64_t>(reseed.gaps), "gap"), reseed.min_length_m,
            grouped(reseed.length_m, 1), grouped(reseed.seeds),
            grouped(std::max(1LL, std::llround(reseed.minutes))), grouped(reseed.plants_lost, 0)));
    else if (reseed.undecided_gaps > 0)
        sentences.emplace_back("Whether re-seeding is worth it can't be told yet.");
    else if (audit.options.costs && reseed.costs_missing.empty())
        sentences.emplace_back("No gap is worth re-seeding with the costs given.");
    else
        sentences.push_back(
            fmt::format("No gap of {} m or more needs re-seeding.", reseed.min_length_m));
    add_open_gaps(audit, sentences);
    add_short_rows(audit, sentences);
    add_sound_rows(audit, sentences);
    add_guard(audit, sentences);
    return sentences;
}

std::vector<std::string> money_sentences(const FieldAudit& audit) {
    const Reseed& reseed = audit.reseed;
    std::vector<std::string> sentences;
    if (!audit.options.costs) {
        sentences.emplace_back(
            "Whether it pays is not reckoned: what a lost plant, a re-seeded metre, reaching a gap "
            "and a seed cost would decide it.");
        return sentences;
    }
    if (reseed.cost_of_nothing)
        sentences.push_back(fmt::format(
            "Doing nothing costs {} (between {} and {}), for gaps of any length.",
            grouped(*reseed.cost_of_nothing, 2), grouped(*reseed.cost_of_nothing_low, 2),
            grouped(*reseed.cost_of_nothing_high, 2)));
    if (!reseed.costs_missing.empty()) {
        sentences.push_back(fmt::format("Whether re-seeding pays can't be told without {}.",
                                        fmt::join(reseed.costs_missing, ", ")));
        return sentences;
    }
    sentences.push_back(
        fmt::format("Re-seeding what pays costs {} and gains {}: {}.",
                    grouped(*reseed.cost_of_reseeding, 2), grouped(*reseed.net_gain, 2),
                    reseed.gaps > 0 && *reseed.net_gain > 0.0 ? "yes, do it" : "no, leave it"));
    sentences.push_back(reseed.break_even_m
                            ? fmt::format("A gap pays from {:.1f} m on.", *reseed.break_even_m)
                            : std::string("No gap pays, however long: a re-seeded metre costs more "
                                          "than its plants are worth."));
    if (audit.options.costs->late_value != 1.0)
        sentences.push_back(fmt::format("A plant re-seeded late counts {} of one in time.",
                                        audit.options.costs->late_value));
    return sentences;
}

} // namespace

std::vector<std::string> reseeding_sentences(const FieldAudit& audit) {
    auto sentences = decision_sentences(audit);
    const auto money = money_sentences(audit);
    sentences.insert(sentences.end(), money.begin(), money.end());
    return sentences;
}

std::vector<std::string> dig_sentences(const FieldAudit& audit) {
    if (!audit.dig)
        return {};
    const Dig& dig = *audit.dig;
    const Gap& gap = audit.gaps[dig.gap];
    std::string settles =
        fmt::format("It settles {}", counted(static_cast<std::uint64_t>(dig.alerts), "open alert"));
    if (dig.length_m > 0.0)
        settles += fmt::format(" and {} m of open gaps", grouped(dig.length_m, 1));
    return {fmt::format("Row {}, pass {}, drops {} to {} ({}){}. {}{}.",
                        audit.field.row_name(gap.key.row), audit.field.pass_name(gap.key.pass),
                        gap.first_drop, gap.last_drop, place_words(audit, gap.from),
                        dig.single_drops
                            ? ": look at this and at some ten more silent drops of the row"
                            : "",
                        settles, dig.rows > 1 ? fmt::format(", in {} rows", dig.rows) : ""),
            "Enter what you find (none or seed) in the column 'found' of the walking list, or in a "
            "table with pass, row, first_drop, last_drop, found, and have the night judged anew "
            "with it."};
}

std::vector<std::string> cause_sentences(const FieldAudit& audit) {
    std::vector<std::string> sentences;
    for (const FieldCause& cause : audit.causes) {
        std::string text = fmt::format("{}: {}", row_words(audit, cause.row), words_of(cause.kind));
        if (!cause.could_be.empty() && cause.kind != CauseKind::meter_or_sensor)
            text += fmt::format(" (looks like {}, too)", kinds_words(cause.could_be));
        text += fmt::format("; {}. Look at: {}.", cause.evidence, cause.look_at);
        if (!cause.also.empty())
            text += fmt::format(" Also: {}.", kinds_words(cause.also));
        sentences.push_back(std::move(text));
    }
    return sentences;
}

std::vector<std::string> place_sentences(const FieldAudit& audit) {
    constexpr std::size_t most = 12;
    std::vector<std::string> sentences;
    for (const Concentration& one : audit.concentrations)
        if (sentences.size() < most)
            sentences.push_back(fmt::format("{}: {} gaps where {} would be even (p {}).", one.where,
                                            grouped(one.gaps), grouped(one.expected, 1),
                                            p_words(one.p_value)));
    return sentences;
}

} // namespace dropledger::report::field
