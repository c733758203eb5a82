#include "analysis/report/html/machine_section.hpp"

#include "analysis/report/html/tables.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "analysis/report/pictures/strip.hpp"
#include "analysis/report/words/sentences.hpp"
#include "analysis/report/words/wording.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::report::html {

using pictures::element;
using pictures::escaped;
using pictures::typeset;

namespace {

using Estimated = std::optional<statistics::Estimate>;

struct KeyNumber {
    std::string label;
    Estimated estimate;
    Unit unit = Unit::percent;
};

std::vector<KeyNumber> key_numbers(const audit::ChannelReport& channel) {
    std::vector<KeyNumber> numbers;
    if (const measures::LineResult* const line = channel.line()) {
        numbers.push_back({"seeds per metre", line->mean_per_m, Unit::per_metre});
        numbers.push_back({"CV", line->cv, Unit::percent});
        numbers.push_back({"index of dispersion", line->dispersion_index, Unit::ratio});
    }
    if (const audit::Portions* const portions = channel.portions(); portions && portions->portion) {
        numbers.push_back({"seeds per portion", portions->portion->mean_count, Unit::ratio});
        numbers.push_back({"exact", portions->portion->exact_share, Unit::percent});
    }
    if (const measures::SpacingResult* const spacing = channel.spacing()) {
        numbers.push_back({"miss index", spacing->iso.misses, Unit::percent});
        numbers.push_back({"multiples index", spacing->iso.multiples, Unit::percent});
    }
    if (const measures::PlacementResult* const placement = channel.placement())
        numbers.push_back({"offset", placement->offset_mm, Unit::millimetres});
    return numbers;
}

std::string number_words(const KeyNumber& number) {
    if (!number.estimate)
        return number.label + " not defined";
    const std::string interval = interval_words(*number.estimate, number.unit);
    return number.label + " " + value_words(*number.estimate, number.unit) +
           (interval.empty() ? "" : " (" + interval + ")");
}

bool is_unlike(const audit::AuditReport& report, int channel) {
    const std::vector<int>& unlike = report.siblings.unlike;
    return std::find(unlike.begin(), unlike.end(), channel) != unlike.end();
}

// Of all units' strips: one height shows them side by side as they are.
double tallest_bar(const audit::AuditReport& report) {
    double most = 1.0;
    for (const audit::ChannelReport& channel : report.channels)
        if (const audit::CommandedDrops* const drops = channel.drops())
            most = std::max(most, pictures::tallest_inline_bar(drops->trace));
    return most;
}

std::string unit_row(const audit::AuditReport& report, const audit::ChannelReport& channel,
                     const std::string& prefix, double tallest) {
    std::string name = element(
        "a", fmt::format("href=\"#{}{}\"", prefix, channel.channel),
        escaped(channel.unit.empty() ? fmt::format("channel {}", channel.channel) : channel.unit));
    if (is_unlike(report, channel.channel))
        name += element("small", "", "unlike its siblings");
    std::string numbers;
    for (const KeyNumber& number : key_numbers(channel))
        numbers += element("div", "", typeset(number_words(number)));
    const audit::Counted n = channel.counted();
    const audit::CommandedDrops* const drops = channel.drops();
    return element("tr", "",
                   element("th", "scope=\"row\"", name) +
                       element("td", "", channel.row ? fmt::format("row {}", *channel.row) : "") +
                       element("td", "", outcome_tag(channel.judgement.outcome)) +
                       element("td", "", fmt::format("{} {}", grouped(n.count), n.what)) +
                       element("td", "class=\"wide\"", numbers) +
                       (drops != nullptr ? element("td", "class=\"wide\"",
                                                   pictures::inline_bars(drops->trace, tallest))
                                         : "")) +
           "\n";
}

std::string transverse_part(const audit::AuditReport& report, const std::string& prefix) {
    if (!report.transverse)
        return "";
    std::string rows;
    for (std::size_t i = 0; i < report.channels.size(); ++i) {
        const audit::ChannelReport& channel = report.channels[i];
        const measures::ChannelDeviation& each = report.transverse->channels[i];
        rows += element("tr", "",
                        element("th", "scope=\"row\"",
                                element("a", fmt::format("href=\"#{}{}\"", prefix, channel.channel),
                                        escaped(channel_words(channel)))) +
                            element("td", "class=\"n\"", grouped(each.seeds)) +
                            element("td", "class=\"n\"", typeset(deviation_words(each)))) +
                "\n";
    }
    const std::string head = element("th", "scope=\"col\"", "unit") +
                             element("th", "class=\"n\" scope=\"col\"", "seeds") +
                             element("th", "class=\"n\" scope=\"col\"", "deviation");
    return heading("Evenness across the units (ISO 7256-2)", "4") +
           paragraph(transverse_words(*report.transverse)) +
           element("table", "",
                   element("thead", "", element("tr", "", head)) + element("tbody", "", rows)) +
           "\n";
}

} // namespace

std::string machine_section(const audit::AuditReport& report, const std::string& prefix) {
    if (report.channels.size() < 2)
        return "";
    std::string rows;
    const double tallest = tallest_bar(report);
    for (const audit::ChannelReport& channel : report.channels)
        rows += unit_row(report, channel, prefix, tallest);
    std::string head;
    for (const char* const name : {"unit", "row", "outcome", "n", "found (interval)"})
        head += element("th", "scope=\"col\"", name);
    const bool has_strips = report.channels.front().drops() != nullptr;
    if (has_strips)
        head += element("th", "scope=\"col\"", "along the run");
    std::string text =
        element("h2", "", "The units") + "\n" +
        element("table", "class=\"units stack full\"",
                element("thead", "", element("tr", "", head)) + element("tbody", "", rows)) +
        "\n";
    if (has_strips)
        text += paragraph(
            "Small strip: multiples upwards, misses downwards, from the first drop to the "
            "last; one height for all units.",
            "cap");
    text += transverse_part(report, prefix) + bullet_list(report.siblings.findings);
    if (!report.siblings.method.empty())
        text += paragraph("Units compared by: " + report.siblings.method + ".", "cap");
    return text;
}

} // namespace dropledger::report::html
