#include "analysis/report/html/channel_section.hpp"

#include "analysis/report/html/tables.hpp"
#include "analysis/report/pictures/count_chart.hpp"
#include "analysis/report/pictures/criterion_picture.hpp"
#include "analysis/report/pictures/line_chart.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "analysis/report/pictures/placement_chart.hpp"
#include "analysis/report/pictures/portion_chart.hpp"
#include "analysis/report/pictures/sequential_chart.hpp"
#include "analysis/report/pictures/spacing_histogram.hpp"
#include "analysis/report/pictures/strip.hpp"
#include "analysis/report/words/plain.hpp"
#include "analysis/report/words/quantities.hpp"
#include "analysis/report/words/sensor_sentences.hpp"
#include "analysis/report/words/sentences.hpp"
#include "analysis/report/words/stop_sentences.hpp"
#include "analysis/report/words/wording.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::report::html {

using pictures::element;
using pictures::escaped;
using pictures::typeset;

namespace {

constexpr std::size_t most_incidents_listed = 400;
constexpr std::size_t incidents_shown_open = 40;

std::string criterion_words(const audit::AuditReport& report, const verdict::Criterion& criterion,
                            std::int64_t counted) {
    std::string text = element(
        "h4", "", escaped(words_of(criterion.limit.quantity)) + outcome_tag(criterion.outcome));
    text += element("p", "", typeset(found_words(criterion)));
    text += element("p", "", "limit " + typeset(limit_words(criterion.limit)));
    if (!criterion.reason.empty())
        text += element("p", "class=\"cap\"", typeset(capitalised(criterion.reason)) + ".");
    if (const std::string more = deciding_words(report, criterion, counted); !more.empty())
        text += element("p", "", escaped(capitalised(more) + "."));
    return element("div", "", text);
}

std::string criteria(const audit::AuditReport& report, const audit::ChannelReport& channel) {
    if (channel.judgement.criteria.empty())
        return "";
    std::string text = heading("Why", "5");
    for (const verdict::Criterion& criterion : channel.judgement.criteria)
        text += element("div", "class=\"criterion\"",
                        criterion_words(report, criterion, channel.counted().count) +
                            element("div", "", pictures::criterion_picture(criterion))) +
                "\n";
    return text +
           paragraph("Bar: the interval; mark on it: the estimate (disc within, square outside, "
                     "diamond undecided). Thick line: the limit; hatched: the side not allowed.",
                     "cap");
}

std::string spacing_part(const audit::ChannelReport& channel) {
    const measures::SpacingResult* const spacing = channel.spacing();
    if (spacing == nullptr)
        return "";
    const std::string gaps = long_gap_words(channel);
    return heading("Spacings in the classes of ISO 7256-1", "3") +
           element("div", "class=\"beside\"",
                   pictures::spacing_histogram(*spacing) +
                       element("div", "", class_table(*spacing))) +
           paragraph("Height: spacings so long. Dashed lines: the edges of the classes; an edge "
                     "belongs to the lower class. Level "
                     "hatching: multiples; plain: singles; slanted hatching: misses.",
                     "cap") +
           (gaps.empty() ? "" : paragraph(gaps));
}

std::string incident_item(const measures::Trace& trace, const measures::Incident& incident,
                          const pictures::StripStyle& style) {
    std::string drop = fmt::format("drop {}", incident.index);
    if (const std::string row =
            trace.drops_per_point() == 1 ? pictures::row_id(trace, incident.index, style) : "";
        !row.empty())
        drop = element("a", fmt::format("href=\"#{}\"", row), drop);
    return element("li", "",
                   drop + fmt::format(": {}, {} {}, log line {}", kind_words(incident.kind),
                                      incident.seeds, incident.seeds == 1 ? "seed" : "seeds",
                                      incident.line)) +
           "\n";
}

std::string incident_list(const measures::Trace& trace, const pictures::StripStyle& style) {
    const auto& incidents = trace.incidents();
    if (incidents.empty())
        return paragraph("No drop differs from what was commanded.");
    const std::size_t listed = std::min(incidents.size(), most_incidents_listed);
    std::string items;
    for (std::size_t i = 0; i < listed; ++i)
        items += incident_item(trace, incidents[i], style);
    const std::string summary =
        listed == trace.incident_count()
            ? fmt::format("All {} drops that differ, with their log lines", listed)
            : fmt::format("The first {} of {} drops that differ, with their log lines", listed,
                          trace.incident_count());
    return element("details", listed <= incidents_shown_open ? "open=\"open\"" : "",
                   element("summary", "", escaped(summary)) +
                       element("ol", "class=\"incidents\"", "\n" + items)) +
           "\n";
}

std::string go_to_drop(const std::string& prefix) {
    return fmt::format(
        R"(<form class="goto" hidden="hidden"><label for="{0}-goto">Go to drop </label>)"
        R"(<input id="{0}-goto" type="number" min="0" step="1" required="required" /> )"
        R"(<button type="submit">Show</button><output></output></form>)"
        "\n",
        prefix);
}

std::string rows_words(const pictures::StripStyle& style) {
    const std::size_t turns = style.turns_per_row();
    const std::string rows =
        turns == 0 ? fmt::format("Each row is {} commanded drops", style.drops_per_row())
                   : fmt::format("Each row is {} commanded drops, {} of the {}-cell disc, so that "
                                 "misses of one cell stand in one column",
                                 style.drops_per_row(),
                                 turns == 1 ? "one turn" : fmt::format("{} turns", turns),
                                 style.cells.value_or(0));
    return rows + ". The number before a row is its first drop; a small stroke stands after every "
                  "tenth.";
}

std::string run_part(const audit::AuditReport& report, const audit::ChannelReport& channel,
                     const std::string& prefix) {
    const audit::CommandedDrops* const drops = channel.drops();
    if (drops == nullptr || drops->trace.points().empty())
        return "";
    const measures::Trace& trace = drops->trace;
    const ledger::Mode mode = channel.mode();
    // A portion takes several cells, so only single seeds come round with the disc.
    const auto cells =
        mode == ledger::Mode::single ? report.setup.channel(channel.channel).cells : std::nullopt;
    const pictures::StripStyle style{mode, prefix, cells};
    std::string text = heading("The run, drop by drop", "2");
    if (trace.drops_per_point() == 1) {
        text += paragraph(rows_words(style)) + pictures::strip_legend(mode) + go_to_drop(prefix) +
                pictures::drop_strip(trace, style);
    } else {
        text += paragraph("The run is too long to show every drop: each bar sums up several, "
                          "multiples upwards and misses downwards. The list below leads to single "
                          "drops in the log.");
        text += pictures::incident_bars(trace, mode);
    }
    return element("div", "", text + incident_list(trace, style));
}

std::string placement_part(const audit::AuditReport& report, const audit::ChannelReport& channel) {
    const audit::CommandedDrops* const drops = channel.drops();
    if (drops == nullptr || !drops->placement)
        return "";
    const std::string chart =
        pictures::placement_chart(drops->trace, *drops->placement, report.profile.allowance_um);
    return chart.empty() ? "" : heading("Placement along the run", "2") + chart;
}

std::string length_part(const audit::AuditReport& report, const measures::PortionResult& portion) {
    const auto& limits = report.profile.limits;
    const auto limit = std::find_if(limits.begin(), limits.end(), [](const verdict::Limit& each) {
        return each.quantity == measures::Quantity::spread_mm;
    });
    const auto limit_mm = limit == limits.end() ? std::nullopt : std::optional(limit->value);
    const std::string chart = pictures::portion_chart(portion, limit_mm);
    if (chart.empty())
        return "";
    return heading("Length of the portions", "2") + chart +
           paragraph("Height: portions so long, from their first seed on the ground to their last; "
                     "portions of one seed have no length." +
                         std::string(limit_mm ? " The profile's limit holds for the mean." : ""),
                     "cap");
}

std::string portion_part(const audit::AuditReport& report, const audit::ChannelReport& channel) {
    const audit::Portions* const portions = channel.portions();
    if (portions == nullptr || !portions->portion)
        return "";
    return heading("Seeds per portion", "2") +
           pictures::count_chart({.counts = portions->portion->count_distribution,
                                  .x_title = "seeds in the portion",
                                  .target = report.setup.count,
                                  .poisson_mean = std::nullopt}) +
           paragraph(
               "Height: portions with so many seeds. Slanted hatching: short or empty; plain: "
               "the count; level hatching: over.",
               "cap") +
           length_part(report, *portions->portion);
}

std::string line_part(const audit::AuditReport& report, const audit::ChannelReport& channel) {
    if (channel.line() == nullptr)
        return "";
    const measures::LineResult& line = *channel.line();
    const auto target =
        report.setup.rate_per_m_milli
            ? std::optional(static_cast<double>(*report.setup.rate_per_m_milli) / 1000.0)
            : std::nullopt;
    const std::string text = heading("Seeds along the line", "4") +
                             pictures::line_chart(line, target) +
                             paragraph(longest_gap_words(line));
    if (!line.dispersion)
        return text + paragraph(dispersion_words(line));
    return text + heading("Seeds per segment", "4") +
           pictures::count_chart(
               {.counts = line.count_distribution,
                .x_title = fmt::format("seeds in a segment of {}", length_words(line.segment_um)),
                .target = std::nullopt,
                .poisson_mean = line.dispersion->mean}) +
           paragraph(
               "Height: segments with so many seeds. Open circles: what seeds strewn at random "
               "(Poisson) at this mean would give.",
               "cap") +
           paragraph(dispersion_words(line));
}

std::string stop_part(const audit::AuditReport& report, const audit::ChannelReport& channel) {
    const auto sentences = stop_sentences(report, channel);
    if (sentences.empty())
        return "";
    const bool portion = channel.portions() != nullptr;
    const audit::CommandedDrops& drops = *channel.drops();
    std::string charts;
    if (drops.miss_test)
        charts += pictures::sequential_chart(drops.miss_test->path,
                                             portion ? "empty portions" : "misses");
    if (drops.multiples_test)
        charts += pictures::sequential_chart(drops.multiples_test->path,
                                             portion ? "portions over their count" : "multiples");
    return heading("How the run stopped itself", "5") + charts +
           paragraph("Stair: counted so far. At or above the thick line the unit is bad, at or "
                     "below the dashed one good; between them the run goes on. Mark: where it was "
                     "decided (disc good, square bad, diamond not decided).",
                     "cap") +
           bullet_list(sentences);
}

std::string causes_part(const audit::ChannelReport& channel) {
    std::vector<std::string> sentences;
    for (const causes::Cause& cause : channel.causes)
        sentences.push_back(fmt::format("{} (p {})", cause_words(cause), p_words(cause.p_value)));
    return sentences.empty() ? "" : heading("Likely causes", "9") + bullet_list(sentences);
}

std::string quantities_part(const audit::AuditReport& report, const audit::ChannelReport& channel) {
    std::string text;
    for (const QuantityGroup& group : quantity_groups(channel))
        text += quantity_table(group, report.profile.confidence);
    return text;
}

} // namespace

std::string channel_section(const audit::AuditReport& report, const audit::ChannelReport& channel,
                            const std::string& prefix) {
    std::string text = element("h2", "",
                               escaped(capitalised(channel_words(channel))) +
                                   outcome_tag(channel.judgement.outcome)) +
                       "\n";
    if (report.channels.size() > 1)
        text += paragraph(verdict_sentence(report, channel), "lead");
    text += causes_part(channel);
    if (!report.from_spacings)
        text += paragraph("Judged by " + gate_words(report, channel) + ".");
    for (const std::string& sentence : sensor_sentences(channel))
        text += paragraph(sentence);
    text += criteria(report, channel) + stop_part(report, channel) + ledger_table(channel);
    text +=
        spacing_part(channel) + portion_part(report, channel) + run_part(report, channel, prefix);
    text += placement_part(report, channel) + line_part(report, channel);
    text += quantities_part(report, channel) + pulse_table(channel);
    if (!channel.notes.empty())
        text += heading("Assumed and left out", "") + bullet_list(channel.notes);
    return element("section", fmt::format("id=\"{}\"", prefix), "\n" + text) + "\n";
}

} // namespace dropledger::report::html
