#include "analysis/report/text/audit_text.hpp"

#include "analysis/audit/series.hpp"
#include "analysis/report/text/page.hpp"
#include "analysis/report/text/verdict_table.hpp"
#include "analysis/report/words/plain.hpp"
#include "analysis/report/words/quantities.hpp"
#include "analysis/report/words/sensor_sentences.hpp"
#include "analysis/report/words/sentences.hpp"
#include "analysis/report/words/series_sentences.hpp"
#include "analysis/report/words/stop_sentences.hpp"
#include "analysis/report/words/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <string_view>

namespace dropledger::report {

namespace {

void add_context(Page& page, const audit::AuditReport& report) {
    for (const ContextRow& row : context_rows(report))
        page.flow("  " + row.label, row.text, 22);
}

void add_ledger(Page& page, const audit::ChannelReport& channel) {
    const audit::CommandedDrops* const drops = channel.drops();
    if (drops == nullptr)
        return;
    const measures::LedgerTable& t = drops->table;
    page.heading("Ledger");
    if (channel.portions() != nullptr) {
        page.line(fmt::format("{:>9} {:>9} {:>9} {:>9} {:>9} {:>9} {:>9}", "drops", "empty",
                              "short", "exact", "over", "strays", "pulses"));
        page.line(fmt::format("{:>9} {:>9} {:>9} {:>9} {:>9} {:>9} {:>9}", t.drops, t.empty,
                              t.shorted, t.exact, t.over, t.strays, channel.pulses));
    } else {
        page.line(fmt::format("{:>9} {:>9} {:>9} {:>9} {:>9} {:>9} {:>9}", "drops", "single",
                              "multiple", "miss", "seeds", "strays", "pulses"));
        page.line(fmt::format("{:>9} {:>9} {:>9} {:>9} {:>9} {:>9} {:>9}", t.drops, t.single,
                              t.multiple, t.miss, t.seeds, t.strays, channel.pulses));
    }
    for (const std::string& identity : identities(channel.mode(), t))
        page.line(identity);
    if (channel.rejected_pulses > 0)
        page.line("not seeds or without a place: " +
                  counted(static_cast<std::uint64_t>(channel.rejected_pulses), "pulse"));
}

void add_quantity(Page& page, const ReportedQuantity& quantity) {
    if (!quantity.estimate) {
        page.line(fmt::format("{:<35} {:>11}", quantity.name, "not defined"));
        return;
    }
    page.line(fmt::format("{:<35} {:>11}  {:<18} {:>7}", quantity.name,
                          value_words(*quantity.estimate, quantity.unit),
                          interval_words(*quantity.estimate, quantity.unit), quantity.n));
}

void add_quantities(Page& page, const audit::AuditReport& report,
                    const audit::ChannelReport& channel) {
    const std::string interval = percent_words(report.profile.confidence.level()) + " interval";
    for (const QuantityGroup& group : quantity_groups(channel)) {
        page.heading(fmt::format("{} - definitions, section {}", group.title, group.section));
        page.line(fmt::format("{:<35} {:>11}  {:<18} {:>7}", "", "value", interval, "n"));
        for (const ReportedQuantity& quantity : group.rows)
            add_quantity(page, quantity);
    }
    if (const std::string gaps = long_gap_words(channel); !gaps.empty())
        page.flow("  ", gaps, 2);
    if (const measures::LineResult* const line = channel.line()) {
        page.line(longest_gap_words(*line));
        page.flow("  ", dispersion_words(*line), 2);
    }
}

void add_criteria(Page& page, const audit::AuditReport& report,
                  const audit::ChannelReport& channel) {
    if (channel.judgement.criteria.empty())
        return;
    page.heading("Why");
    for (const verdict::Criterion& criterion : channel.judgement.criteria) {
        page.flow(fmt::format("  {:<10}", verdict::name_of(criterion.outcome)),
                  fmt::format("{}: {}; limit {}", words_of(criterion.limit.quantity),
                              found_words(criterion), limit_words(criterion.limit)),
                  12);
        if (!criterion.reason.empty())
            page.flow("", criterion.reason, 12);
        const std::string more = deciding_words(report, criterion, channel.counted().count);
        if (!more.empty())
            page.flow("", more, 12);
    }
}

void add_causes(Page& page, const audit::ChannelReport& channel) {
    if (channel.causes.empty())
        return;
    page.heading("Likely causes");
    for (const causes::Cause& cause : channel.causes)
        page.item(fmt::format("{} (p {})", cause_words(cause), p_words(cause.p_value)));
}

void add_incidents(Page& page, const audit::ChannelReport& channel) {
    constexpr std::size_t shown = 10;
    const audit::CommandedDrops* const drops = channel.drops();
    if (drops == nullptr || drops->trace.incidents().empty())
        return;
    const auto& incidents = drops->trace.incidents();
    page.heading(fmt::format("First of {} incidents", drops->trace.incident_count()));
    for (std::size_t i = 0; i < std::min(shown, incidents.size()); ++i)
        page.line(fmt::format("drop {:>8}  {:<9} {:>2} seeds   log line {}", incidents[i].index,
                              kind_words(incidents[i].kind), incidents[i].seeds,
                              incidents[i].line));
}

void add_sentences(Page& page, std::string_view heading,
                   const std::vector<std::string>& sentences) {
    if (sentences.empty())
        return;
    page.heading(heading);
    for (const std::string& sentence : sentences)
        page.item(sentence);
}

void add_channel(Page& page, const audit::AuditReport& report,
                 const audit::ChannelReport& channel) {
    page.heading(fmt::format("=== {} ===", channel_words(channel)));
    if (!report.from_spacings)
        page.line("judged by " + gate_words(report, channel));
    if (report.channels.size() > 1)
        page.flow("  ", verdict_sentence(report, channel), 2);
    add_causes(page, channel);
    for (const std::string& sentence : sensor_sentences(channel))
        page.flow("  ", sentence, 2);
    add_criteria(page, report, channel);
    add_ledger(page, channel);
    add_quantities(page, report, channel);
    add_sentences(page, "The run stopped itself - definitions, section 5",
                  stop_sentences(report, channel));
    add_incidents(page, channel);
    add_sentences(page, "Assumed and left out", channel.notes);
}

void add_transverse(Page& page, const audit::AuditReport& report) {
    page.heading("Evenness across the units - definitions, section 4");
    page.flow("  ", transverse_words(*report.transverse), 2);
    for (std::size_t i = 0; i < report.channels.size(); ++i) {
        const measures::ChannelDeviation& each = report.transverse->channels[i];
        page.line(fmt::format("{:<40} seeds {:>8}  {:>9}", channel_words(report.channels[i]),
                              each.seeds, deviation_words(each)));
    }
}

// What the units say of each other.
void add_machine(Page& page, const audit::AuditReport& report, Detail detail) {
    if (report.channels.size() < 2)
        return;
    if (report.transverse)
        add_transverse(page, report);
    if (report.siblings.findings.empty() &&
        (report.siblings.method.empty() || detail != Detail::full))
        return;
    page.heading("Units compared");
    for (const std::string& finding : report.siblings.findings)
        page.item(finding);
    if (!report.siblings.method.empty() && detail == Detail::full)
        page.flow("  ", "Compared by: " + report.siblings.method, 2);
}

void add_in_full(Page& page, const audit::AuditReport& report) {
    for (const audit::ChannelReport& channel : report.channels)
        add_channel(page, report, channel);
    add_machine(page, report, Detail::full);
    add_sentences(page, "Integrity of the log", integrity_sentences(report));
    add_sentences(page, "Notes on the run", report.notes);
    page.line("");
    page.flow("  ", std::string(where_sections_are), 2);
}

// Within, and by what the gate saw alone it would not be.
bool calibration_decides(const audit::ChannelReport& channel) {
    return channel.sensor.outcome_as_seen &&
           *channel.sensor.outcome_as_seen != channel.judgement.outcome;
}

// Of units that are not within, or by their calibration only: every limit with what was found, and
// what the gates say.
void add_what_is_not_kept(Page& page, const audit::AuditReport& report) {
    for (const audit::ChannelReport& channel : report.channels) {
        if (channel.judgement.outcome == verdict::Outcome::within && !calibration_decides(channel))
            continue;
        page.heading(capitalised(channel_words(channel)));
        for (const verdict::Criterion& criterion : channel.judgement.criteria)
            page.flow(fmt::format("  {:<10} ", verdict::name_of(criterion.outcome)),
                      plain_found(channel, criterion) + ", " + limit_words(criterion.limit), 13);
        if (channel.sensor.efficiency)
            for (const std::string& sentence : sensor_sentences(channel))
                page.flow("  ", sentence, 2);
    }
    add_machine(page, report, Detail::usual);
    if (!report.from_spacings && !report.integrity.flaws().empty())
        add_sentences(page, "Integrity of the log", integrity_sentences(report));
}

void add_series(Page& page, const audit::UnitSeries& series) {
    page.heading(fmt::format("Unit {} at several speeds - definitions, section 9", series.unit));
    page.line(fmt::format("{:>9} {:>8} {:>8} {:>9} {:>10}  {}", "speed m/s", "drops", "misses",
                          "multiples", "offset mm", "log"));
    for (const audit::SeriesRun& one : series.runs)
        page.line(fmt::format(
            "{:>9.3f} {:>8} {:>8} {:>9} {:>10}  {}", one.run.speed_mps, one.run.drops,
            one.run.misses,
            one.run.multiples ? fmt::format("{}", *one.run.multiples) : std::string("-"),
            one.run.offset ? fmt::format("{:.2f}", one.run.offset->mm) : std::string("-"),
            one.file));
    for (const std::string& sentence : series_sentences(series))
        page.item(sentence);
}

} // namespace

std::string to_text(const audit::AuditReport& report, Detail detail) {
    Page page;
    if (detail != Detail::brief) {
        page.heading("Seed-drop audit");
        add_context(page, report);
    }
    page.heading(outcome_words(report.outcome));
    page.flow("  ", verdict_sentence(report), 2);
    if (detail == Detail::full)
        add_in_full(page, report);
    if (detail == Detail::usual)
        add_what_is_not_kept(page, report);
    add_verdict_table(page, report);
    return std::move(page).text();
}

std::string to_text(const std::vector<audit::AuditReport>& reports, Detail detail) {
    std::string text;
    for (const audit::AuditReport& report : reports)
        text += to_text(report, detail) + "\n";
    for (const audit::UnitSeries& series : unit_series(reports)) {
        Page page;
        add_series(page, series);
        text += std::move(page).text() + "\n";
    }
    return text;
}

} // namespace dropledger::report
