#include "bench/commands/book/book.hpp"

#include "bench/commands/shell/deliver.hpp"

#include "analysis/base/nearest.hpp"
#include "analysis/report/html/document.hpp"
#include "analysis/report/html/tables.hpp"
#include "analysis/report/pictures/control_chart.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "analysis/report/words/wording.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace dropledger::cli {

namespace {

using Json = nlohmann::ordered_json;
namespace html = report::html;
namespace pictures = report::pictures;
using pictures::element;
using pictures::escaped;

using Trends = std::vector<book::Trend>;

Json optional_number(const std::optional<double>& value) {
    return value ? Json(*value) : Json(nullptr);
}

Json points_json(const book::Trend& trend) {
    Json points = Json::array();
    for (const book::TrendPoint& one : trend.points)
        points.push_back(
            {{"run", one.run_id},
             {"file", one.file},
             {"started", one.started},
             {"calibration", one.calibration.empty() ? Json(nullptr) : Json(one.calibration)},
             {"value", one.quantity.value},
             {"low", optional_number(one.quantity.low)},
             {"high", optional_number(one.quantity.high)}});
    return points;
}

Json trend_json(const book::Trend& trend) {
    Json json{{"quantity", key_of(trend.what)}};
    const auto& chart = trend.chart;
    const bool limits = chart && !chart->points.empty();
    json["centre"] = chart ? Json(chart->centre) : Json(nullptr);
    json["sigma"] = chart ? Json(chart->sigma) : Json(nullptr);
    json["lower"] = limits ? optional_number(chart->points.front().lower) : Json(nullptr);
    json["upper"] = limits ? optional_number(chart->points.front().upper) : Json(nullptr);
    json["provisional"] = chart ? Json(chart->provisional()) : Json(nullptr);
    json["points"] = points_json(trend);
    json["signals"] = Json::array();
    if (chart)
        for (const statistics::ControlSignal& one : chart->signals)
            json["signals"].push_back({{"rule", statistics::rule_name(one.rule)},
                                       {"first_run", trend.points.at(one.first).run_id},
                                       {"last_run", trend.points.at(one.last).run_id},
                                       {"sentence", one.sentence}});
    json["left_out"] = trend.left_out;
    return json;
}

void add_chart(TextPage& page, const statistics::ControlChart& chart, Unit unit, std::size_t runs) {
    constexpr int decimals = 2;
    const auto in_unit = [&](const std::optional<double>& value) {
        return value ? with_unit(*value, unit, decimals) : std::string("none");
    };
    const statistics::ChartPoint& first =
        chart.points.front(); // of single values: all have the same limits
    const std::string provisional =
        chart.provisional() ? fmt::format(" (provisional: {})", counted(runs, "run")) : "";
    if (first.lower && first.upper)
        page.add("  centre {}, limits {} to {}{}\n", in_unit(chart.centre), in_unit(first.lower),
                 in_unit(first.upper), provisional);
    else
        page.add("  centre {}, upper limit {}, no lower limit{}\n", in_unit(chart.centre),
                 in_unit(first.upper), provisional);
    for (const statistics::ControlSignal& one : chart.signals)
        page.add("  signal: {}\n", one.sentence);
    if (chart.signals.empty())
        page.add("  no signal: the runs differ as neighbouring runs do\n");
}

void add_trend(TextPage& page, const book::Trend& trend) {
    const Unit unit = unit_of(trend.what.quantity);
    constexpr int decimals = 2;
    page.add("\n{}\n", words_of(trend.what));
    for (std::size_t i = 0; i < trend.points.size(); ++i)
        page.add("  {:>3}  {:<20}  {:>12}  {}\n", i + 1, trend.points[i].started,
                 with_unit(trend.points[i].quantity.value, unit, decimals), trend.points[i].file);
    for (const std::string& sentence : trend.left_out)
        page.add("  left out: {}\n", sentence);
    if (trend.chart)
        add_chart(page, *trend.chart, unit, trend.points.size());
    else
        page.add("  no chart: it takes two runs at least\n");
}

std::string text_of(const std::string& unit, const Trends& trends) {
    TextPage page;
    page.add("Unit {}\n", unit);
    for (const book::Trend& one : trends)
        add_trend(page, one);
    return page.text();
}

int status_of(const Trends& trends) {
    bool any = false;
    for (const book::Trend& trend : trends) {
        if (trend.chart && !trend.chart->signals.empty())
            return 1;
        any = any || trend.chart;
    }
    return any ? 0 : 2;
}

Result<std::vector<measures::Reported>> quantities_of(const BookOptions& options) {
    std::vector<measures::Reported> out;
    for (const std::string& key : options.quantities) {
        const auto what = measures::reported_as(key);
        if (!what) {
            const std::vector<std::string> known = measures::reported_keys();
            const auto meant = nearest(key, {known.begin(), known.end()});
            return Error{ErrorKind::usage, "option --quantity",
                         fmt::format("the audit states no quantity '{}'", key),
                         meant ? fmt::format("did you mean {}?", *meant)
                               : "name it as the audit's JSON does: miss_index"};
        }
        out.push_back(*what);
    }
    return out;
}

Result<Trends> trends_of(const BookOptions& options) {
    const auto book = book::Book::open(options.book, false);
    if (!book)
        return book.error();
    const auto runs = runs_of_unit(*book, options.unit);
    if (!runs)
        return runs.error();
    const auto named = quantities_of(options);
    if (!named)
        return named.error();
    Trends trends;
    for (const measures::Reported& what : named->empty() ? book::usual_quantities(*runs) : *named)
        trends.push_back(book::trend(*runs, what));
    return trends;
}

std::string part(const book::Trend& trend) {
    const std::string words = words_of(trend.what);
    const Unit unit = unit_of(trend.what.quantity);
    std::string text = element("h2", "", escaped(words)) + "\n";
    if (!trend.chart)
        return text + html::paragraph("No chart: it takes two runs at least.");
    std::vector<std::string> names;
    for (const book::TrendPoint& one : trend.points)
        names.push_back(one.started.substr(0, 10) + " " + one.file);
    const std::string symbol(symbol_of(unit));
    text += pictures::control_chart(*trend.chart,
                                    {.what = words + (symbol.empty() ? "" : ", " + symbol),
                                     .of_time = "runs in order of their start",
                                     .factor = displayed(1.0, unit),
                                     .names = names});
    return text + (trend.left_out.empty() ? "" : html::bullet_list(trend.left_out));
}

std::string page(const std::string& unit, const Trends& trends) {
    std::string body =
        html::paragraph("Bench book", "kind") + element("h1", "", escaped("Unit " + unit)) + "\n" +
        html::paragraph(
            "Has the unit changed over its runs, or is this its usual spread? A signal is a "
            "reason to look, no proof.",
            "lead");
    for (const book::Trend& one : trends)
        body += part(one);
    return html::document({.title = "Unit " + unit + " over its runs", .body = body});
}

Result<int> show_trend(const BookOptions& options) {
    Outputs outputs;
    outputs.reads(options.book).writes("--html", options.html, files::FileKind::html);
    if (const Status allowed = outputs.check(); !allowed)
        return allowed.error();
    const auto trends = trends_of(options);
    if (!trends)
        return trends.error();
    if (options.html)
        outputs.put("--html", page(options.unit, *trends));
    if (options.json) {
        Json json{
            {"schema", "dropledger/book/1"}, {"unit", options.unit}, {"trends", Json::array()}};
        for (const book::Trend& one : *trends)
            json["trends"].push_back(trend_json(one));
        outputs.json(json);
    } else {
        outputs.text(text_of(options.unit, *trends));
    }
    return outputs.deliver(status_of(*trends));
}

} // namespace

void add_book_trend(Command& book, const std::shared_ptr<BookOptions>& options) {
    book.subcommand("trend", "has the unit changed? control charts over its runs")
        .option("UNIT", options->unit, "serial number of the unit")
        .required("UNIT")
        .option("--book", options->book, "the book")
        .repeated("--quantity", options->quantities,
                  "its trend, by the name in the audit's JSON; several may be named")
        .option("--html", options->html, "also write a page with the charts to this file")
        .flag("--json", options->json, "the result as JSON on standard output")
        .manual("book_trend")
        .runs([options] { return show_trend(*options); });
}

} // namespace dropledger::cli
