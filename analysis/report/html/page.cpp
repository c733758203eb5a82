#include "analysis/report/html/page.hpp"

#include "analysis/audit/series.hpp"
#include "analysis/report/html/channel_section.hpp"
#include "analysis/report/html/document.hpp"
#include "analysis/report/html/machine_section.hpp"
#include "analysis/report/html/parts.hpp"
#include "analysis/report/html/sheet.hpp"
#include "analysis/report/html/tables.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "analysis/report/words/sentences.hpp"
#include "analysis/report/words/series_sentences.hpp"
#include "analysis/report/words/wording.hpp"

#include <fmt/format.h>

namespace dropledger::report::html {

using pictures::element;
using pictures::escaped;

namespace {

std::string context_list(const audit::AuditReport& report) {
    std::string rows;
    for (const ContextRow& row : context_rows(report))
        rows += element("dt", "", escaped(row.label)) + element("dd", "", escaped(row.text)) + "\n";
    return element("dl", "class=\"context\"", "\n" + rows) + "\n";
}

std::string opening(const audit::AuditReport& report, bool alone) {
    const std::string outcome(outcome_words(report.outcome));
    const bool has_sheet = !report.from_spacings; // which says the verdict first
    const std::string title =
        alone && !has_sheet
            ? paragraph("Seed-drop audit", "kind") + element("h1", "", escaped(outcome))
            : element("h2", "",
                      escaped((has_sheet ? "Annex: the audit of " : "") + report.file + ": " +
                              outcome));
    return title + "\n" + paragraph(verdict_sentence(report), "lead") + context_list(report);
}

std::vector<std::string> tracing(const audit::AuditReport& report) {
    std::vector<std::string> ways{"Every heading names the section of the measures that defines "
                                  "its numbers; the line under each "
                                  "quantity says what n counts and how the interval was made."};
    if (!report.from_spacings)
        ways.push_back(fmt::format("Drops are found in {} by the log line printed beside them; "
                                   "`dropledger check` verifies lines and seals of the same file.",
                                   report.file));
    ways.push_back(report.profile.limits.empty()
                       ? std::string("No profile with limits was used.")
                       : fmt::format("Limits are those of the profile {}.", report.profile.name));
    ways.push_back(report.calibration ? fmt::format("Calibration: {}.", *report.calibration)
                                      : std::string("No calibration was used."));
    ways.emplace_back("The audit as JSON gives the same numbers, unrounded.");
    return ways;
}

std::string closing(const audit::AuditReport& report) {
    std::string text = element("h2", "", "The run as a whole") + "\n" +
                       heading("Integrity of the log", "") +
                       bullet_list(integrity_sentences(report));
    if (!report.notes.empty())
        text += heading("Notes", "") + bullet_list(report.notes);
    return text + heading("How to trace a number", "") + bullet_list(tracing(report));
}

std::string caution_box() {
    return element("div", "class=\"box\"",
                   heading("Before acting on this report", "") + bullet_list(cautions())) +
           "\n";
}

std::string audit_part(const audit::AuditReport& report, const std::string& prefix, bool alone) {
    std::string text;
    if (const auto sheet = machine_sheet(report))
        text += sheet_section(*sheet);
    text += opening(report, alone) + machine_section(report, prefix);
    for (const audit::ChannelReport& channel : report.channels)
        text += channel_section(report, channel, fmt::format("{}{}", prefix, channel.channel));
    return text + closing(report);
}

std::string page(std::string_view title, const std::string& body) {
    return document({.title = title, .body = body, .script = part("go_to_drop")});
}

std::string cell(std::string_view name, const std::string& text) {
    return element(name, "", escaped(text));
}

std::string series_part(const audit::UnitSeries& series) {
    std::string rows;
    for (const audit::SeriesRun& one : series.runs) {
        const causes::SpeedRun& run = one.run;
        rows += element("tr", "",
                        cell("td", fmt::format("{:.3f}", run.speed_mps)) +
                            cell("td", grouped(run.drops)) + cell("td", grouped(run.misses)) +
                            cell("td", run.multiples ? grouped(*run.multiples) : "-") +
                            cell("td", run.offset ? fmt::format("{:.2f}", run.offset->mm) : "-") +
                            cell("td", one.file)) +
                "\n";
    }
    std::string titles;
    for (const char* const title :
         {"speed m/s", "drops", "misses", "multiples", "offset mm", "log"})
        titles += cell("th", title);
    return cell("h2", fmt::format("Unit {} at several speeds", series.unit)) + "\n" +
           bullet_list(series_sentences(series)) +
           element("table", "",
                   element("thead", "", element("tr", "", titles)) +
                       element("tbody", "", "\n" + rows)) +
           "\n";
}

} // namespace

std::string sheet_page(const MachineSheet& sheet) {
    return page(fmt::format("{}: {}", sheet.title, sheet.subject), sheet_section(sheet));
}

std::string audit_body(const audit::AuditReport& report) {
    return audit_part(report, "channel-", true) + paragraph(where_sections_are, "ref") +
           caution_box();
}

std::string to_html(const audit::AuditReport& report) {
    return page(
        fmt::format("{}: seed-drop audit of {}", outcome_words(report.outcome), report.file),
        audit_body(report));
}

std::string to_html(const std::vector<audit::AuditReport>& reports) {
    if (reports.size() == 1)
        return to_html(reports.front());
    std::string body =
        element("h1", "", fmt::format("Seed-drop audits of {} logs", reports.size())) + "\n";
    std::string items;
    for (std::size_t i = 0; i < reports.size(); ++i)
        items +=
            element("li", "",
                    element("a", fmt::format("href=\"#log-{}\"", i), escaped(reports[i].file)) +
                        outcome_tag(reports[i].outcome)) +
            "\n";
    body += element("ul", "", items) + "\n";
    for (std::size_t i = 0; i < reports.size(); ++i)
        body += element("article", fmt::format("id=\"log-{}\"", i),
                        "\n" + audit_part(reports[i], fmt::format("log-{}-channel-", i), false)) +
                "\n";
    for (const audit::UnitSeries& series : unit_series(reports))
        body += series_part(series);
    return page("Seed-drop audits", body + paragraph(where_sections_are, "ref") + caution_box());
}

} // namespace dropledger::report::html
