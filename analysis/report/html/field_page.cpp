#include "analysis/report/html/field_page.hpp"

#include "analysis/report/html/document.hpp"
#include "analysis/report/html/field_map.hpp"
#include "analysis/report/html/parts.hpp"
#include "analysis/report/html/tables.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "analysis/report/text/field_text.hpp"
#include "analysis/report/words/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::report::field {

using namespace dropledger::field;
using html::bullet_list;
using html::paragraph;
using pictures::element;
using pictures::escaped;

namespace {

constexpr std::size_t most_listed = 500;

std::string head(const std::vector<std::string>& cells) {
    std::string row;
    for (const std::string& cell : cells)
        row += element("th", "", escaped(cell));
    return element("thead", "", element("tr", "", row));
}

std::string row_of(const std::vector<std::string>& cells) {
    std::string row;
    for (const std::string& cell : cells)
        row += element("td", "", escaped(cell));
    return element("tr", "", row) + "\n";
}

std::string table(const std::vector<std::string>& titles, const std::string& rows) {
    return element("div", "class=\"scroll\"",
                   element("table", "", head(titles) + element("tbody", "", "\n" + rows))) +
           "\n";
}

std::string section(const std::string& title, const std::string& content) {
    return content.empty() ? std::string{} : element("h2", "", escaped(title)) + "\n" + content;
}

std::string listed(const std::vector<std::string>& sentences) {
    return sentences.empty() ? std::string{} : bullet_list(sentences);
}

std::string rows_table(const FieldAudit& audit) {
    std::string rows;
    for (const RowReport& row : audit.rows)
        rows += row_of({fmt::format("{}", row.judge.row), grouped(row.drops), grouped(row.silent),
                        grouped(row.gaps), fmt::format("{:.2f}", row.longest_gap_m),
                        grouped(row.alerts), single_silent_words(row.judge),
                        row.miss_index ? fmt::format("{:.2f}", 100.0 * *row.miss_index)
                                       : std::string("not defined")});
    return table({"row", "drops", "silent", "gaps", "longest, m", "alerts",
                  "P(missing) of a single silent drop", "miss index as seen, %"},
                 rows);
}

std::string_view words_of(const Chance& chance) {
    switch (judged(chance)) {
    case Judgement::missing:
        return "seed missing";
    case Judgement::sensor:
        return "sensor missed it";
    case Judgement::unknown:
        return "can't tell";
    }
    throw BrokenInvariant("a judgement without words");
}

std::string parts_table(const FieldAudit& audit) {
    if (audit.parts.size() < 2)
        return {};
    std::string rows;
    for (const FieldPart& part : audit.parts)
        rows +=
            row_of({fmt::format("{}", part.number),
                    fmt::format("{} to {}", part.first_pass, part.last_pass), grouped(part.drops),
                    grouped(part.alerts), grouped(part.reseed_gaps), lost_words(audit, part)});
    return table(
        {"field", "passes", "drops", "alerts", "gaps worth re-seeding", "plants lost, expected"},
        rows);
}

std::string gaps_table(const FieldAudit& audit) {
    std::string rows;
    std::size_t count = 0;
    for (const Gap& gap : audit.gaps) {
        if (gap.length_m < audit.options.reseed_min_m || judged(gap.missing) == Judgement::sensor)
            continue;
        if (++count <= most_listed)
            rows += row_of({fmt::format("{}", gap.key.pass), fmt::format("{}", gap.key.row),
                            fmt::format("{} to {}", gap.first_drop, gap.last_drop),
                            fmt::format("{:.2f}", gap.length_m), fmt::format("{}", gap.seeds),
                            std::string(words_of(gap.missing)),
                            fmt::format("{:.7f}, {:.7f}", gap.from.y, gap.from.x)});
    }
    if (rows.empty())
        return {};
    std::string text =
        table({"pass", "row", "drops", "length, m", "seeds", "judgement",
               audit.field.geographic ? "begins at lat, lon" : "begins at north, east"},
              rows);
    if (count > most_listed)
        text += paragraph(
            fmt::format("And {} more: the walking list has them all.", count - most_listed), "cap");
    return text;
}

std::string alerts_table(const FieldAudit& audit) {
    std::string rows;
    for (std::size_t i = 0; i < std::min(audit.alerts.size(), most_listed); ++i) {
        const Alert& alert = audit.alerts[i];
        const auto p = stated(alert.missing);
        rows += row_of({fmt::format("{}", alert.key.pass), fmt::format("{}", alert.key.row),
                        fmt::format("{}", alert.drop), std::string(words_of(alert.missing)),
                        p ? fmt::format("{:.2f}", *p) : std::string("not known")});
    }
    if (rows.empty())
        return {};
    std::string text = table({"pass", "row", "drop", "judgement", "P(missing)"}, rows);
    if (audit.alerts.size() > most_listed)
        text += paragraph(fmt::format("And {} more: the audit as JSON has them all.",
                                      audit.alerts.size() - most_listed),
                          "cap");
    return element("details", "", element("summary", "", "All alerts, one by one") + "\n" + text) +
           "\n";
}

std::string lengths_table(const FieldAudit& audit) {
    std::string rows;
    for (const GapLength& one : audit.gap_lengths)
        rows += row_of(
            {fmt::format("{}{}", one.drops, &one == &audit.gap_lengths.back() ? " and more" : ""),
             grouped(one.observed), fmt::format("{:.1f}", one.expected)});
    return table({"drops in the gap", "gaps seen", "expected of isolated random misses"}, rows);
}

std::string bad_rows(const Field& field) {
    std::vector<std::string> sentences;
    for (const BadRow& row : field.bad_samples)
        sentences.push_back(fmt::format("line {}: {}", row.line, row.reason));
    return listed(sentences);
}

std::vector<std::string> cautions() {
    return {"Treated seed and its dust are harmful: follow the seed label when you open a unit or "
            "fill in by hand.",
            "Before you look into a unit stop the machine, take its power off and wait until meter "
            "and valve stand still.",
            "A gate's beam may be infrared and invisible: don't look into it from near.",
            "Work on the machine's electrics is for those licensed to do it, by your local code."};
}

std::string body(const FieldAudit& audit) {
    std::string text = paragraph("Field audit", "kind") +
                       element("h1", "", escaped(audit.options.file)) + "\n" +
                       paragraph(headline(audit), "lead");
    text += paragraph(fmt::format("{} drops in {} rows of passes; {} rows of the table kept out.",
                                  grouped(audit.field.drops), audit.lines.size(),
                                  grouped(audit.field.rows_bad)));
    text += section("What to look at first", listed(cause_sentences(audit)));
    text += section("Decision", listed(decision_sentences(audit)));
    text += section("Fields: passes that lie together", parts_table(audit));
    text += section("Map", map_markup(audit));
    text +=
        section(fmt::format("Gaps of {} m and more, in walking order", audit.options.reseed_min_m),
                gaps_table(audit));
    text += section("Alerts", listed(alert_sentences(audit)) + alerts_table(audit));
    text += section("Rows", rows_table(audit));
    text +=
        section("Where gaps concentrate", listed(place_sentences(audit)) + lengths_table(audit));
    text += section("Rows of the table kept out", bad_rows(audit.field));
    text += section("Notes", listed(audit.notes));
    return text +
           element("div", "class=\"box\"",
                   html::heading("Before going to the machine", "") + bullet_list(cautions()));
}

} // namespace

std::string to_html(const FieldAudit& audit) {
    return html::document({.title = "Field audit of " + audit.options.file,
                           .body = body(audit),
                           .more_style = html::part("map_style"),
                           .script = html::part("find_on_map")});
}

} // namespace dropledger::report::field
