#include "analysis/report/html/field_page.hpp"

#include "analysis/report/html/document.hpp"
#include "analysis/report/html/field_map.hpp"
#include "analysis/report/html/parts.hpp"
#include "analysis/report/html/tables.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "analysis/report/text/field_words.hpp"
#include "analysis/report/words/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cmath>

namespace dropledger::report::field {

using namespace dropledger::field;
using html::bullet_list;
using html::paragraph;
using pictures::element;
using pictures::escaped;

namespace {

constexpr std::size_t most_listed = 500;

// A table that becomes cards on a narrow screen: each cell knows what it is.
class Cards {
public:
    explicit Cards(std::vector<std::string> titles) : titles_(std::move(titles)) {}

    void add(const std::vector<std::string>& cells) {
        std::string row;
        for (std::size_t i = 0; i < cells.size(); ++i)
            row += element("td", fmt::format("data-is=\"{}\"", escaped(titles_.at(i))),
                           escaped(cells[i]));
        rows_ += element("tr", "", row) + "\n";
    }
    [[nodiscard]] bool empty() const { return rows_.empty(); }
    [[nodiscard]] std::string markup() const {
        std::string head;
        for (const std::string& title : titles_)
            head += element("th", "", escaped(title));
        return element("div", "class=\"scroll cards\"",
                       element("table", "",
                               element("thead", "", element("tr", "", head)) +
                                   element("tbody", "", "\n" + rows_))) +
               "\n";
    }

private:
    std::vector<std::string> titles_;
    std::string rows_;
};

std::string section(const std::string& title, const std::string& content) {
    return content.empty() ? std::string{} : element("h2", "", escaped(title)) + "\n" + content;
}

std::string listed(const std::vector<std::string>& sentences) {
    return sentences.empty() ? std::string{} : bullet_list(sentences);
}

std::string folded(const std::string& title, const std::string& content) {
    return content.empty()
               ? std::string{}
               : element("details", "", element("summary", "", escaped(title)) + "\n" + content) +
                     "\n";
}

// "22:15:03", in the table's zone.
std::string clock_of(const FieldAudit& audit, double time_s) {
    if (!audit.field.has_time)
        return "not known";
    const auto local = static_cast<std::int64_t>(std::floor(audit.field.clock_s(time_s)));
    const std::int64_t of_day = ((local % 86'400) + 86'400) % 86'400;
    return fmt::format("{:02}:{:02}:{:02}", of_day / 3600, of_day / 60 % 60, of_day % 60);
}

std::string clock_title(const FieldAudit& audit) {
    return fmt::format("sown at ({})", audit.field.clock_name());
}

std::string and_more(std::size_t all, std::string_view whole) {
    return fmt::format("And {} more: {} has them all.",
                       grouped(static_cast<std::int64_t>(all - most_listed)), whole);
}

std::string stops_table(const FieldAudit& audit) {
    Cards cards({"stop", "row", "pass", "drops", "length, m", "seeds", "judgement",
                 clock_title(audit),
                 audit.field.geographic ? "begins at lat, lon" : "begins at north, east"});
    for (std::size_t i = 0; i < std::min(most_listed, audit.walk.stops.size()); ++i) {
        const Gap& gap = audit.gaps[audit.walk.stops[i]];
        const Place from = wrapped(gap.from, audit.field.geographic);
        cards.add({fmt::format("{}", i + 1), audit.field.row_name(gap.key.row),
                   audit.field.pass_name(gap.key.pass),
                   fmt::format("{} to {}", gap.first_drop, gap.last_drop), grouped(gap.length_m, 2),
                   grouped(gap.seeds), std::string(judgement_words(judged(gap.missing))),
                   clock_of(audit, gap.time_s), fmt::format("{:.7f}, {:.7f}", from.y, from.x)});
    }
    if (cards.empty())
        return {};
    std::string text =
        paragraph(fmt::format("{} m on foot, in this order.", grouped(audit.walk.way_m, 0))) +
        cards.markup();
    if (audit.walk.stops.size() > most_listed)
        text += paragraph(and_more(audit.walk.stops.size(), "the walking list"), "cap");
    return text;
}

std::string rows_table(const FieldAudit& audit) {
    Cards cards({"row", "drops", "silent", "gaps", "longest, m", "alerts", "doubles",
                 "P(missing) of a single silent drop", "miss index as seen, %"});
    for (const RowReport& row : audit.rows)
        cards.add({audit.field.row_name(row.judge.row), grouped(row.drops), grouped(row.silent),
                   grouped(row.gaps), grouped(row.longest_gap_m, 2), grouped(row.alerts),
                   grouped(row.doubles), single_silent_words(row.judge),
                   row.miss_index ? fmt::format("{:.2f}", 100.0 * *row.miss_index)
                                  : std::string("not defined")});
    return cards.markup();
}

std::string parts_table(const FieldAudit& audit) {
    if (audit.parts.size() < 2)
        return {};
    const bool money = std::any_of(audit.parts.begin(), audit.parts.end(),
                                   [](const FieldPart& part) { return part.net_gain; });
    std::vector<std::string> titles{"field",  "passes",     "drops",
                                    "alerts", "to re-seed", "plants lost, expected"};
    if (money)
        titles.emplace_back("gain of re-seeding");
    Cards cards(titles);
    for (const FieldPart& part : audit.parts) {
        std::vector<std::string> cells{
            fmt::format("{}{}", part.number, part.name.empty() ? "" : " " + part.name),
            fmt::format("{} to {}", audit.field.pass_name(part.first_pass),
                        audit.field.pass_name(part.last_pass)),
            grouped(part.drops),
            grouped(part.alerts),
            fmt::format("{} gaps, {} m", grouped(part.reseed_gaps), grouped(part.reseed_m, 1)),
            lost_words(audit, part)};
        if (money)
            cells.push_back(grouped(part.net_gain.value_or(0.0), 2));
        cards.add(cells);
    }
    return cards.markup();
}

std::string alerts_table(const FieldAudit& audit) {
    Cards cards({"pass", "row", "drop", "judgement", "P(missing)"});
    for (std::size_t i = 0; i < std::min(audit.alerts.size(), most_listed); ++i) {
        const Alert& alert = audit.alerts[i];
        const auto p = stated(alert.missing);
        cards.add({audit.field.pass_name(alert.key.pass), audit.field.row_name(alert.key.row),
                   fmt::format("{}", alert.drop),
                   std::string(judgement_words(judged(alert.missing))),
                   p ? fmt::format("{:.2f}", *p) : std::string("not known")});
    }
    if (cards.empty())
        return {};
    std::string text = cards.markup();
    if (audit.alerts.size() > most_listed)
        text += paragraph(and_more(audit.alerts.size(), "the audit as JSON"), "cap");
    return text;
}

std::string lengths_table(const FieldAudit& audit) {
    Cards cards({"drops in the gap", "gaps seen", "expected of isolated random misses"});
    for (const GapLength& one : audit.gap_lengths)
        cards.add(
            {fmt::format("{}{}", one.drops, &one == &audit.gap_lengths.back() ? " and more" : ""),
             grouped(one.observed), grouped(one.expected, 1)});
    return cards.markup();
}

std::string evidence_table(const FieldAudit& audit) {
    Cards cards({"row", "cause", "p-value", "seeds it may have cost"});
    for (const FieldCause& cause : audit.causes)
        cards.add({audit.field.row_name(cause.row), std::string(words_of(cause.kind)),
                   p_words(cause.p_value), grouped(cause.seeds, 0)});
    return cards.empty() ? std::string{} : cards.markup();
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
            "A sensor's beam may be infrared and invisible: don't look into it from near.",
            "Work on the machine's electrics is for those licensed to do it, by your local code."};
}

std::string assumptions(const FieldAudit& audit) {
    const Pace& pace = audit.options.pace;
    return paragraph(
        fmt::format("Reckoned with: gaps from {} m on are worth a visit; {:.0f} % of the seeds "
                    "become plants; re-seeding at {} m/s, walking at {} m/s, {} s at each gap.",
                    audit.options.reseed_min_m, 100.0 * audit.options.germination, pace.reseed_mps,
                    pace.walk_mps, pace.seconds_per_gap),
        "cap");
}

std::string details(const FieldAudit& audit) {
    std::string text = section("Rows", rows_table(audit));
    text += section("In detail", folded("All alerts, one by one", alerts_table(audit)) +
                                     folded("Evidence in figures", evidence_table(audit)) +
                                     folded("Where gaps concentrate",
                                            listed(place_sentences(audit)) + lengths_table(audit)) +
                                     folded("Lines of the table kept out", bad_rows(audit.field)) +
                                     folded("Notes", listed(audit.notes)));
    return text + paragraph(fmt::format("Audit of {}; {} drops, {} lines of the table kept out.",
                                        audit.options.file, grouped(audit.field.drops),
                                        grouped(audit.field.rows_bad)),
                            "cap");
}

// A number stays with what it counts.
std::string unbroken(const std::string& text) {
    std::string out;
    for (std::size_t i = 0; i < text.size(); ++i) {
        const auto is_digit = [&](std::size_t at) {
            return at < text.size() && std::isdigit(static_cast<unsigned char>(text[at])) != 0;
        };
        // "row 8", "337 m", but a line may end behind "places,".
        const bool beside_number = text[i] == ' ' && i > 0 && text[i - 1] != ',' &&
                                   text[i - 1] != ';' && (is_digit(i - 1) || is_digit(i + 1));
        out += beside_number ? std::string("\xC2\xA0") : std::string(1, text[i]);
    }
    return out;
}

} // namespace

std::string field_body(const FieldAudit& audit, const std::string& below_headline) {
    std::string text = paragraph("Field audit", "kind") +
                       element("h1", "class=\"do\"", escaped(unbroken(headline(audit)))) + "\n" +
                       paragraph(alerts_line(audit), "lead") +
                       (audit.lacking.empty() ? "" : paragraph(audit.lacking, "lead lacking")) +
                       below_headline;
    text += listed(opening(audit));
    text += section("What to look at, the costliest first", listed(cause_sentences(audit)));
    text += section("Re-seeding", listed(reseeding_sentences(audit)) + assumptions(audit));
    text += section("Dig here first", listed(dig_sentences(audit)));
    text += section(audit.parts.size() > 1 ? "Maps" : "Map", map_markup(audit));
    text += section("Where to go", stops_table(audit));
    text += section("Fields", parts_table(audit));
    text += section("Alerts", listed(alert_sentences(audit)));
    text += details(audit);
    return text +
           element("div", "class=\"box\"",
                   html::heading("Before going to the machine", "") + bullet_list(cautions()));
}

std::string to_html(const FieldAudit& audit) {
    return html::document({.title = "Field audit of " + audit.options.file,
                           .body = field_body(audit),
                           .more_style = html::part("field_style"),
                           .script = html::part("field_script")});
}

} // namespace dropledger::report::field
