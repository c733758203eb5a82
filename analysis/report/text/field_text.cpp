#include "analysis/report/text/field_text.hpp"

#include "analysis/base/shown_text.hpp"
#include "analysis/report/text/field_words.hpp"
#include "analysis/report/words/wording.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::report::field {

using namespace dropledger::field;

namespace {

std::string section(const std::string& title, const std::vector<std::string>& sentences) {
    if (sentences.empty())
        return {};
    std::string text = "\n" + title + "\n";
    for (const std::string& sentence : sentences)
        text += "  - " + shown_text(sentence) + "\n";
    return text;
}

std::string row_table(const FieldAudit& audit) {
    std::string text = "\nRows\n   row     drops   silent    gaps  longest m  alerts  doubles  "
                       "P(missing | single silent drop)\n";
    for (const RowReport& row : audit.rows)
        text +=
            fmt::format("{:>6} {:>9} {:>8} {:>7} {:>10} {:>7} {:>8}  {}\n",
                        shown_text(audit.field.row_name(row.judge.row)), grouped(row.drops),
                        grouped(row.silent), grouped(row.gaps), grouped(row.longest_gap_m, 2),
                        grouped(row.alerts), grouped(row.doubles), single_silent_words(row.judge));
    return text;
}

std::string part_table(const FieldAudit& audit) {
    if (audit.parts.size() < 2)
        return {};
    std::string text = "\nFields: passes that lie together\n field     passes     drops  alerts  "
                       "gaps to re-seed        m  plants lost, expected\n";
    for (const FieldPart& part : audit.parts)
        text += fmt::format("{:6} {:>10} {:>9} {:>7} {:>16} {:>8}  {}\n", part.number,
                            shown_text(fmt::format("{}-{}", audit.field.pass_name(part.first_pass),
                                                   audit.field.pass_name(part.last_pass))),
                            grouped(part.drops), grouped(part.alerts), grouped(part.reseed_gaps),
                            grouped(part.reseed_m, 1), shown_text(lost_words(audit, part)));
    return text;
}

std::string stop_table(const FieldAudit& audit) {
    constexpr std::size_t listed = 40;
    if (audit.walk.stops.empty())
        return {};
    std::string text =
        fmt::format("\nWhere to go, in this order ({} m on foot)\n stop  pass   row first drop "
                    "last drop  length m  judgement         from (lat lon, or north east)\n",
                    grouped(audit.walk.way_m, 0));
    for (std::size_t i = 0; i < std::min(listed, audit.walk.stops.size()); ++i) {
        const Gap& gap = audit.gaps[audit.walk.stops[i]];
        const Place from = wrapped(gap.from, audit.field.geographic);
        text += fmt::format("{:5} {:>5} {:>5} {:10} {:9} {:9.2f}  {:<16}  {:.7f} {:.7f}\n", i + 1,
                            shown_text(audit.field.pass_name(gap.key.pass)),
                            shown_text(audit.field.row_name(gap.key.row)), gap.first_drop,
                            gap.last_drop, gap.length_m, judgement_words(judged(gap.missing)),
                            from.y, from.x);
    }
    if (audit.walk.stops.size() > listed)
        text += fmt::format("  and {} more: the walking list (CSV) has them all\n",
                            grouped(static_cast<std::int64_t>(audit.walk.stops.size() - listed)));
    return text;
}

std::vector<std::string> bad_sentences(const Field& field) {
    std::vector<std::string> sentences;
    for (const BadRow& row : field.bad_samples)
        sentences.push_back(fmt::format("line {}: {}", row.line, row.reason));
    if (field.rows_bad > static_cast<std::int64_t>(field.bad_samples.size()))
        sentences.push_back(fmt::format(
            "and {} more",
            grouped(field.rows_bad - static_cast<std::int64_t>(field.bad_samples.size()))));
    return sentences;
}

std::string length_table(const FieldAudit& audit) {
    std::string text = "\nGaps by length in drops: seen, and expected of isolated random misses\n";
    for (const GapLength& one : audit.gap_lengths)
        text += fmt::format("  {:2}{} {:>9} {:>12}\n", one.drops,
                            &one == &audit.gap_lengths.back() ? "+" : " ", grouped(one.observed),
                            grouped(one.expected, 2));
    return text;
}

} // namespace

std::string to_text(const FieldAudit& audit) {
    std::string text = fmt::format("{}\n{}\n", shown_text(headline(audit)), alerts_line(audit));
    if (!audit.lacking.empty())
        text += shown_text(audit.lacking) + "\n";
    text += section("What the table holds", opening(audit));
    text += section("What to look at, the costliest first", cause_sentences(audit));
    text += section("Re-seeding", reseeding_sentences(audit));
    text += section("Dig here first", dig_sentences(audit));
    text += stop_table(audit) + part_table(audit);
    text += section("Alerts", alert_sentences(audit));
    text += row_table(audit) + section("Where gaps concentrate", place_sentences(audit));
    text += length_table(audit);
    return text + section("Rows of the table kept out", bad_sentences(audit.field)) +
           section("Notes", audit.notes) +
           fmt::format("\nField audit of {}: {} drops\n", shown_text(audit.options.file),
                       grouped(audit.field.drops));
}

} // namespace dropledger::report::field
