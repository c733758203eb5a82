#include "analysis/report/text/field_text.hpp"

#include "analysis/base/shown_text.hpp"
#include "analysis/report/words/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::report::field {

using namespace dropledger::field;

namespace {

// "12", or "between 3 and 12" where the judgement is open.
std::string between(double low, double high) {
    const auto a = std::llround(low);
    const auto b = std::llround(high);
    return a == b ? grouped(a) : fmt::format("between {} and {}", grouped(a), grouped(b));
}

std::string section(const std::string& title, const std::vector<std::string>& sentences) {
    if (sentences.empty())
        return {};
    std::string text = "\n" + title + "\n";
    for (const std::string& sentence : sentences)
        text += "  - " + shown_text(sentence) + "\n";
    return text;
}

std::string row_table(const FieldAudit& audit) {
    std::string text = "\nRows\n   row     drops   silent    gaps  longest m  alerts  P(missing | "
                       "single silent drop)\n";
    for (const RowReport& row : audit.rows)
        text += fmt::format("{:6} {:9} {:8} {:7} {:10.2f} {:7}  {}\n", row.judge.row, row.drops,
                            row.silent, row.gaps, row.longest_gap_m, row.alerts,
                            single_silent_words(row.judge));
    return text;
}

std::string part_table(const FieldAudit& audit) {
    if (audit.parts.size() < 2)
        return {};
    std::string text = "\nFields: passes that lie together\n field     passes     drops  alerts  "
                       "gaps to re-seed  plants lost, expected\n";
    for (const FieldPart& part : audit.parts)
        text += fmt::format("{:6} {:>10} {:9} {:7} {:16}  {}\n", part.number,
                            fmt::format("{}-{}", part.first_pass, part.last_pass), part.drops,
                            part.alerts, part.reseed_gaps, lost_words(audit, part));
    return text;
}

std::string gap_table(const FieldAudit& audit) {
    constexpr std::size_t listed = 40;
    std::string text;
    std::size_t count = 0;
    for (const Gap& gap : audit.gaps) {
        if (!audit.worth_reseeding(gap) || ++count > listed)
            continue;
        text +=
            fmt::format("{:6} {:5} {:9} {:9} {:9.2f}  {:.7f} {:.7f}\n", gap.key.pass, gap.key.row,
                        gap.first_drop, gap.last_drop, gap.length_m, gap.from.y, gap.from.x);
    }
    if (text.empty())
        return {};
    if (count > listed)
        text += fmt::format("  and {} more: the walking list (CSV) has them all\n", count - listed);
    return "\nGaps worth re-seeding\n  pass   row first drop last drop  length m  from (lat lon, "
           "or north east)\n" +
           text;
}

// "Row 4", and the unit in it where the input says.
std::string row_words(const FieldAudit& audit, std::int64_t row) {
    const auto unit = audit.field.units.find(row);
    return unit == audit.field.units.end() || unit->second.empty()
               ? fmt::format("Row {}", row)
               : fmt::format("Row {} (unit {})", row, unit->second);
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
            rows += fmt::format("{}{}", rows.empty() ? "" : ", ", row.judge.row);
            ++count;
        }
    if (count > 0)
        sentences.push_back(fmt::format(
            "{} {} need{} nothing: no cause was found there, and no gap of {} m or more.",
            count == 1 ? "Row" : "Rows", rows, count == 1 ? "s" : "", audit.options.reseed_min_m));
}

std::vector<std::string> bad_sentences(const Field& field) {
    std::vector<std::string> sentences;
    for (const BadRow& row : field.bad_samples)
        sentences.push_back(fmt::format("line {}: {}", row.line, row.reason));
    if (field.rows_bad > static_cast<std::int64_t>(field.bad_samples.size()))
        sentences.push_back(fmt::format(
            "and {} more", field.rows_bad - static_cast<std::int64_t>(field.bad_samples.size())));
    return sentences;
}

} // namespace

std::string lost_words(const FieldAudit& audit, const FieldPart& part) {
    const double germination = audit.options.germination;
    std::string text = fmt::format(
        "{} of {}", between(part.seeds_lost_low * germination, part.seeds_lost_high * germination),
        grouped(std::llround(part.seeds_commanded * germination)));
    std::string rows;
    for (const std::int64_t row : part.worst_rows)
        rows += fmt::format("{}{}", rows.empty() ? "" : ", ", row);
    return rows.empty() ? text : fmt::format("{}, most in row {}", text, rows);
}

std::string single_silent_words(const RowJudge& row) {
    if (row.missing_when_silent)
        return fmt::format("{:.2f}", *row.missing_when_silent);
    if (row.when_silent.low > 0.0 || row.when_silent.high < 1.0)
        return fmt::format("{:.2f} to {:.2f}, see the notes", row.when_silent.low,
                           row.when_silent.high);
    return "not known: no gate efficiency";
}

std::string headline(const FieldAudit& audit) {
    const auto missing = audit.alerts_judged(Judgement::missing);
    const auto sensor = audit.alerts_judged(Judgement::sensor);
    const auto unknown = audit.alerts_judged(Judgement::unknown);
    std::vector<std::string> parts;
    if (missing > 0)
        parts.push_back(fmt::format("seed is missing at {}", missing));
    if (sensor > 0)
        parts.push_back(fmt::format("the sensor missed it at {}", sensor));
    if (unknown > 0)
        parts.push_back(fmt::format("it can't be told of {}", unknown));
    const std::string text = audit.alerts.empty()
                                 ? std::string("No alerts. ")
                                 : fmt::format("Of {} {}. ", counted(audit.alerts.size(), "alert"),
                                               fmt::join(parts, ", "));
    const auto open = static_cast<std::uint64_t>(audit.reseed.undecided_gaps);
    if (audit.reseed.gaps == 0 && open > 0)
        return text + fmt::format("Whether {} of {} m or more {} worth re-seeding can't be told.",
                                  counted(open, "gap"), audit.reseed.min_length_m,
                                  open == 1 ? "is" : "are");
    return text + (audit.reseed.gaps == 0
                       ? fmt::format("No gap of {} m or more is worth re-seeding.",
                                     audit.reseed.min_length_m)
                       : fmt::format("{} of {} m or more worth re-seeding, {} seeds.",
                                     counted(static_cast<std::uint64_t>(audit.reseed.gaps), "gap"),
                                     audit.reseed.min_length_m, grouped(audit.reseed.seeds)));
}

std::vector<std::string> alert_sentences(const FieldAudit& audit) {
    std::vector<std::string> sentences;
    std::int64_t seen = 0;
    for (const Alert& alert : audit.alerts)
        seen += alert.seen ? 1 : 0;
    if (seen > 0)
        sentences.push_back(fmt::format(
            "At {} of the alerts the sensor did see seed: nothing is missing there.", seen));
    if (audit.alert_after_drops)
        sentences.push_back(
            fmt::format("Alerts seem to come from {} silent drops on; {} gaps so long raised none.",
                        *audit.alert_after_drops, audit.silent_alarms.size()));
    for (const RowReport& row : audit.rows) {
        std::int64_t open = 0;
        for (const Alert& alert : audit.alerts)
            open += alert.key.row == row.judge.row && judged(alert.missing) == Judgement::unknown
                        ? 1
                        : 0;
        if (open > 0)
            sentences.push_back(fmt::format(
                "Row {}: {} alerts can't be told. A look at a length of the row, or the gate's "
                "efficiency from a bench run, settles them.",
                row.judge.row, open));
    }
    return sentences;
}

std::vector<std::string> decision_sentences(const FieldAudit& audit) {
    std::vector<std::string> sentences;
    sentences.push_back(
        fmt::format("Plants lost: {} of {} expected (germination {}).",
                    between(audit.plants_lost_low(), audit.plants_lost_high()),
                    grouped(std::llround(audit.seeds_commanded * audit.options.germination)),
                    audit.options.germination));
    const Reseed& reseed = audit.reseed;
    if (reseed.gaps > 0)
        sentences.push_back(fmt::format(
            "Re-seeding {} gaps, {:.1f} m in all, takes {} seeds and brings back {:.0f} plants.",
            grouped(reseed.gaps), reseed.length_m, grouped(reseed.seeds), reseed.plants_lost));
    else
        sentences.emplace_back(reseed.undecided_gaps > 0
                                   ? "Whether re-seeding is worth it can't be told yet."
                                   : "Re-seeding does not need doing.");
    if (reseed.undecided_gaps > 0)
        sentences.push_back(
            fmt::format("{} gaps are as long, but whether seed is missing there can't be told.",
                        reseed.undecided_gaps));
    if (reseed.cost_of_nothing && reseed.cost_of_reseeding)
        sentences.push_back(
            fmt::format("With the costs given: doing nothing {:.2f}, re-seeding {:.2f}.",
                        *reseed.cost_of_nothing, *reseed.cost_of_reseeding));
    for (const RowReport& row : audit.rows)
        if (gives_short(row))
            sentences.push_back(fmt::format("Row {}: the gate reported {:.1f} % of the seeds "
                                            "commanded in portions. {}",
                                            row.judge.row, 100.0 * *row.judge.reported_share,
                                            row.judge.efficiency
                                                ? "What short portions lack beyond what the gate "
                                                  "overlooks is in the plants lost."
                                                : "Does the meter give too few, or does the gate "
                                                  "overlook some: count a length of the row. The "
                                                  "plants lost allow for either."));
    add_sound_rows(audit, sentences);
    for (const RowReport& row : audit.rows)
        if (row.within_guard)
            sentences.push_back(fmt::format(
                "Row {}: {:.2f} % of {} places are within {} mm, the guard of blind hoeing; "
                "{:.2f} % are not.",
                row.judge.row, 100.0 * *row.within_guard, grouped(row.offsets),
                *audit.options.guard_mm, 100.0 * (1.0 - *row.within_guard)));
    return sentences;
}

std::vector<std::string> cause_sentences(const FieldAudit& audit) {
    std::vector<std::string> sentences;
    for (const FieldCause& cause : audit.causes)
        sentences.push_back(fmt::format("{}, {}: {} (p {}). Look at: {}.",
                                        row_words(audit, cause.row), words_of(cause.kind),
                                        cause.evidence, p_words(cause.p_value), cause.look_at));
    return sentences;
}

std::vector<std::string> place_sentences(const FieldAudit& audit) {
    constexpr std::size_t most = 12;
    std::vector<std::string> sentences;
    for (const Concentration& one : audit.concentrations)
        if (sentences.size() < most)
            sentences.push_back(fmt::format("{}: {} gaps where {:.1f} would be even (p {}).",
                                            one.where, one.gaps, one.expected,
                                            p_words(one.p_value)));
    return sentences;
}

std::string to_text(const FieldAudit& audit) {
    std::string text =
        fmt::format("Field audit of {}: {} drops, {} rows of the table kept out\n\n{}\n",
                    shown_text(audit.options.file), grouped(audit.field.drops),
                    grouped(audit.field.rows_bad), headline(audit));
    text += section("Alerts", alert_sentences(audit)) +
            section("What to look at", cause_sentences(audit)) +
            section("Decision", decision_sentences(audit)) + part_table(audit) + gap_table(audit) +
            row_table(audit) + section("Where gaps concentrate", place_sentences(audit));
    text += "\nGaps by length in drops: seen, and expected of isolated random misses\n";
    for (const GapLength& one : audit.gap_lengths)
        text +=
            fmt::format("  {:2}{} {:9} {:12.2f}\n", one.drops,
                        &one == &audit.gap_lengths.back() ? "+" : " ", one.observed, one.expected);
    return text + section("Rows of the table kept out", bad_sentences(audit.field)) +
           section("Notes", audit.notes);
}

} // namespace dropledger::report::field
