#include "bench/commands/trends/trends.hpp"

#include "analysis/base/readers/or_null.hpp"
#include "analysis/report/html/document.hpp"
#include "analysis/report/html/tables.hpp"
#include "analysis/report/pictures/markup.hpp"

namespace dropledger::cli {

using Json = nlohmann::ordered_json;
namespace html = report::html;
namespace pictures = report::pictures;
using pictures::element;
using pictures::escaped;

namespace {

Json signals_json(const ChartedTrend& trend) {
    Json signals = Json::array();
    if (trend.chart)
        for (const statistics::ControlSignal& one : trend.chart->signals)
            signals.push_back({{"rule", statistics::rule_name(one.rule)},
                               {"first_" + trend.point, trend.ids.at(one.first)},
                               {"last_" + trend.point, trend.ids.at(one.last)},
                               {"sentence", one.sentence}});
    return signals;
}

std::string part(const TrendPart& part) {
    std::string text = element("h2", "", escaped(part.heading)) + "\n";
    if (!part.answer.empty())
        text += html::paragraph(part.answer, "lead");
    text += part.chart ? pictures::control_chart(*part.chart, part.words)
                       : html::paragraph(part.no_chart);
    if (part.chart && !part.caution.empty())
        text += html::paragraph(part.caution);
    return text + (part.left_out.empty() ? "" : html::bullet_list(part.left_out));
}

} // namespace

Json trend_json(const ChartedTrend& trend, Json points) {
    const auto& chart = trend.chart;
    const bool limits = chart && !chart->points.empty();
    Json json{{"quantity", trend.key}};
    json["centre"] = chart ? Json(chart->centre) : Json(nullptr);
    json["sigma"] = chart ? Json(chart->sigma) : Json(nullptr);
    json["lower"] = limits ? or_null(chart->points.back().lower) : Json(nullptr);
    json["upper"] = limits ? or_null(chart->points.back().upper) : Json(nullptr);
    json["provisional"] = chart ? Json(chart->provisional()) : Json(nullptr);
    json["points"] = std::move(points);
    json["signals"] = signals_json(trend);
    json["left_out"] = trend.left_out;
    return json;
}

std::string trend_body(const TrendPage& page) {
    std::string body = html::paragraph(page.kind, "kind") +
                       element("h1", "", escaped(page.heading)) + "\n" +
                       html::paragraph(page.question, "lead");
    for (const TrendPart& one : page.parts)
        body += part(one);
    return body;
}

std::string trend_page(const TrendPage& page) {
    return html::document({.title = page.title, .body = trend_body(page)});
}

} // namespace dropledger::cli
