#include "bench/commands/book/book.hpp"

#include "analysis/base/readers/or_null.hpp"
#include "bench/commands/inputs/profiles.hpp"
#include "bench/commands/shell/answer.hpp"
#include "bench/commands/shell/dates.hpp"
#include "bench/commands/trends/trends.hpp"

#include "analysis/base/nearest.hpp"
#include "analysis/report/words/wording.hpp"
#include "bench/book/judging.hpp"
#include "bench/book/notes.hpp"
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

Json repairs_json(const book::Trend& trend) {
    Json repairs = Json::array();
    for (const book::Repair& one : trend.repairs)
        repairs.push_back(
            {{"time", one.time},
             {"text", one.text},
             {"before_run", one.before < trend.points.size() ? Json(trend.points[one.before].run_id)
                                                             : Json(nullptr)}});
    return repairs;
}

Json whole_json(const book::Trend& trend) {
    Json json =
        trend_json({.key = key_of(trend.what),
                    .chart = trend.chart,
                    .point = "run",
                    .ids = names_of(trend, [](const book::TrendPoint& one) { return one.run_id; }),
                    .left_out = trend.left_out},
                   points_json(trend));
    json["headline"] = headline(trend);
    json["limit"] = trend.limit ? Json(trend.limit->value) : Json(nullptr);
    json["repairs"] = repairs_json(trend);
    return json;
}

Json json_of(const TrendsOfUnit& found) {
    Json json{
        {"schema", "dropledger/book-trend/1"}, {"unit", found.unit}, {"trends", Json::array()}};
    for (const book::Trend& trend : found.trends)
        json["trends"].push_back(whole_json(trend));
    return json;
}

// Of the runs since the last repair.
void add_chart(TextPage& page, const statistics::ControlChart& chart, Unit unit) {
    constexpr int decimals = 2;
    const statistics::ChartPoint& last = chart.points.back();
    if (chart.rests_on < 2) {
        page.add("  usual range: none yet, one run since the repair\n");
        return;
    }
    const std::string rests =
        chart.provisional() ? fmt::format(" (from {})", counted(chart.rests_on, "run")) : "";
    const std::string least =
        last.lower ? with_unit(*last.lower, unit, decimals) : std::string("any");
    const std::string most =
        last.upper ? with_unit(*last.upper, unit, decimals) : std::string("any");
    page.add("  usual range {} to {}, centre {}{}\n", least, most,
             with_unit(chart.centre, unit, decimals), rests);
    for (const statistics::ControlSignal& one : chart.signals)
        page.add("  signal: {}\n", one.sentence);
}

std::string value_of(const book::Quantity& found, Unit unit) {
    statistics::Estimate estimate;
    estimate.value = found.value;
    if (found.low && found.high)
        estimate.interval = statistics::Interval{*found.low, *found.high};
    const std::string interval = interval_words(estimate, unit);
    return value_words(estimate, unit) + (interval.empty() ? "" : " (" + interval + ")");
}

void add_repairs(TextPage& page, const book::Trend& trend, std::size_t before) {
    for (const book::Repair& repair : trend.repairs)
        if (repair.before == before)
            page.add("       {}  {}\n", repair.time.substr(0, 10), repair.text);
}

void add_trend(TextPage& page, const book::Trend& trend) {
    const Unit unit = unit_of(trend.what.quantity);
    page.add("\n{}\n  {}\n", words_of(trend.what), headline(trend));
    if (trend.limit)
        page.add("  tolerance {}\n", report::limit_words(*trend.limit));
    if (trend.chart)
        add_chart(page, *trend.chart, unit);
    else
        page.add("  no usual range: it takes two runs at least\n");
    for (std::size_t i = 0; i < trend.points.size(); ++i) {
        add_repairs(page, trend, i);
        const book::TrendPoint& point = trend.points[i];
        page.add("  {:>3}  {:<27} {:<32} {:<10} {}\n", i + 1, local_words(point.started),
                 value_of(point.quantity, unit), point.outcome ? name_of(*point.outcome) : "",
                 point.file);
    }
    add_repairs(page, trend, trend.points.size());
    for (const std::string& sentence : trend.left_out)
        page.add("  left out: {}\n", sentence);
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

// The limit of the profile that a run was judged by; of a quantity as corrected: the same.
Result<book::LimitOf> limits_by(const book::Book& book) {
    const auto options = book::audit_options(book, profile_chooser(std::nullopt));
    if (!options)
        return options.error();
    return book::LimitOf{
        [choose = options->choose_profile](
            const book::Run& run, measures::Quantity quantity) -> std::optional<verdict::Limit> {
            droplog::Header head;
            head.run["tolerance"] = run.profile;
            const auto chosen = choose(head, run.mode);
            if (!chosen)
                return std::nullopt;
            for (const verdict::Limit& limit : chosen->profile.limits)
                if (limit.quantity == quantity)
                    return limit;
            return std::nullopt;
        }};
}

Result<TrendsOfUnit> trends_of(const BookOptions& options) {
    const auto unit = unit_in_book(options);
    if (!unit)
        return unit.error();
    const auto named = quantities_of(options);
    if (!named)
        return named.error();
    const auto notes = book::notes_beside(options.book);
    if (!notes)
        return notes.error();
    const auto limit_of = limits_by(unit->book);
    if (!limit_of)
        return limit_of.error();
    TrendsOfUnit found{unit->name, {}};
    for (const measures::Reported& what :
         named->empty() ? book::usual_quantities(unit->runs) : *named)
        found.trends.push_back(book::trend(unit->runs, what, {unit->name, *notes, *limit_of}));
    return found;
}

// Both ways where a magnitude is limited.
std::vector<double> limits_of(const book::Trend& trend) {
    if (!trend.limit)
        return {};
    if (trend.limit->sense() == verdict::Sense::magnitude_at_most)
        return {-trend.limit->value, trend.limit->value};
    return {trend.limit->value};
}

std::vector<std::pair<std::size_t, std::string>> repairs_of(const book::Trend& trend) {
    std::vector<std::pair<std::size_t, std::string>> repairs;
    for (const book::Repair& one : trend.repairs)
        if (one.before < trend.points.size())
            repairs.emplace_back(one.before, one.text);
    return repairs;
}

TrendPart part(const book::Trend& trend) {
    const std::string words = words_of(trend.what);
    const Unit unit = unit_of(trend.what.quantity);
    const std::string symbol(symbol_of(unit));
    return {.heading = words,
            .answer = headline(trend),
            .chart = trend.chart,
            .words = {.what = words + (symbol.empty() ? "" : ", " + symbol),
                      .of_time = "runs in order of their start",
                      .factor = displayed(1.0, unit),
                      .names = names_of(trend,
                                        [](const book::TrendPoint& one) {
                                            return one.started.substr(0, 10) + " " + one.file;
                                        }),
                      .limits = limits_of(trend),
                      .repairs = repairs_of(trend)},
            .no_chart = "No chart: it takes two runs at least.",
            .caution = "",
            .left_out = trend.left_out};
}

TrendPage trends_page(const TrendsOfUnit& found) {
    TrendPage page{.title = "Unit " + found.unit + " over its runs",
                   .kind = "Bench book",
                   .heading = "Unit " + found.unit,
                   .question = "Has the unit changed over its runs, or is this its usual range? "
                               "A signal is a reason to look, no proof; changes under a "
                               "quarter of the tolerance are left out.",
                   .parts = {}};
    for (const book::Trend& one : found.trends)
        page.parts.push_back(part(one));
    return page;
}

std::string page_of(const TrendsOfUnit& found) {
    return trend_page(trends_page(found));
}

} // namespace

Result<TrendPage> unit_trends(const BookOptions& options) {
    const auto found = trends_of(options);
    if (!found)
        return found.error();
    return trends_page(*found);
}

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
