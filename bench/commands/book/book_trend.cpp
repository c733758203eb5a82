#include "bench/commands/book/book.hpp"

#include "analysis/base/readers/or_null.hpp"
#include "bench/commands/shell/answer.hpp"
#include "bench/commands/trends/trends.hpp"

#include "analysis/base/nearest.hpp"
#include "analysis/report/words/wording.hpp"
#include "bench/book/trend.hpp"

#include <fmt/format.h>

namespace dropledger::cli {

namespace {

using Json = nlohmann::ordered_json;

struct TrendsOfUnit {
    std::string unit;
    std::vector<book::Trend> trends;
};

Json points_json(const book::Trend& trend) {
    Json points = Json::array();
    for (const book::TrendPoint& one : trend.points)
        points.push_back({{"run", one.run_id},
                          {"file", one.file},
                          {"started", one.started},
                          {"calibration", or_null(one.calibration)},
                          {"value", one.quantity.value},
                          {"low", or_null(one.quantity.low)},
                          {"high", or_null(one.quantity.high)}});
    return points;
}

template <class Name>
std::vector<std::string> names_of(const book::Trend& trend, const Name& name) {
    std::vector<std::string> names;
    for (const book::TrendPoint& one : trend.points)
        names.push_back(name(one));
    return names;
}

Json json_of(const TrendsOfUnit& found) {
    Json json{
        {"schema", "dropledger/book-trend/1"}, {"unit", found.unit}, {"trends", Json::array()}};
    for (const book::Trend& trend : found.trends)
        json["trends"].push_back(trend_json(
            {.key = key_of(trend.what),
             .chart = trend.chart,
             .point = "run",
             .ids = names_of(trend, [](const book::TrendPoint& one) { return one.run_id; }),
             .left_out = trend.left_out},
            points_json(trend)));
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

std::string text_of(const TrendsOfUnit& found) {
    TextPage page;
    page.add("Unit {}\n", found.unit);
    for (const book::Trend& one : found.trends)
        add_trend(page, one);
    return page.text();
}

int status_of(const TrendsOfUnit& found) {
    bool any = false;
    for (const book::Trend& trend : found.trends) {
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
            return usage_error("option --quantity",
                               fmt::format("the audit states no quantity '{}'", key),
                               meant ? fmt::format("did you mean {}?", *meant)
                                     : "name it as the audit's JSON does: miss_index");
        }
        out.push_back(*what);
    }
    return out;
}

Result<TrendsOfUnit> trends_of(const BookOptions& options) {
    const auto unit = unit_in_book(options);
    if (!unit)
        return unit.error();
    const auto named = quantities_of(options);
    if (!named)
        return named.error();
    TrendsOfUnit found{options.unit, {}};
    for (const measures::Reported& what :
         named->empty() ? book::usual_quantities(unit->runs) : *named)
        found.trends.push_back(book::trend(unit->runs, what));
    return found;
}

TrendPart part(const book::Trend& trend) {
    const std::string words = words_of(trend.what);
    const Unit unit = unit_of(trend.what.quantity);
    const std::string symbol(symbol_of(unit));
    return {.heading = words,
            .chart = trend.chart,
            .words = {.what = words + (symbol.empty() ? "" : ", " + symbol),
                      .of_time = "runs in order of their start",
                      .factor = displayed(1.0, unit),
                      .names = names_of(trend,
                                        [](const book::TrendPoint& one) {
                                            return one.started.substr(0, 10) + " " + one.file;
                                        })},
            .no_chart = "No chart: it takes two runs at least.",
            .caution = "",
            .left_out = trend.left_out};
}

std::string page_of(const TrendsOfUnit& found) {
    TrendPage page{.title = "Unit " + found.unit + " over its runs",
                   .kind = "Bench book",
                   .heading = "Unit " + found.unit,
                   .question = "Has the unit changed over its runs, or is this its usual spread? "
                               "A signal is a reason to look, no proof.",
                   .parts = {}};
    for (const book::Trend& one : found.trends)
        page.parts.push_back(part(one));
    return trend_page(page);
}

} // namespace

void add_book_trend(Command& book) {
    const auto options = std::make_shared<BookOptions>();
    Command command =
        book.subcommand("trend", "has the unit changed? control charts over its runs");
    command.option("UNIT", options->unit, "serial number of the unit")
        .required("UNIT")
        .option("--book", options->book, "the book")
        .repeated("--quantity", options->quantities,
                  "its trend, by the name in the audit's JSON; several may be named")
        .option("--html", options->html, "also write a page with the charts to this file")
        .manual("book_trend");
    answers(command, options,
            Answer<BookOptions, TrendsOfUnit>{
                .find = trends_of,
                .json = json_of,
                .text = text_of,
                .page = page_of,
                .status = status_of,
                .inputs = [](const BookOptions& asked) { return std::vector{asked.book}; }});
}

} // namespace dropledger::cli
