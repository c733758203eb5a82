#include "bench/commands/batch/batch_trend.hpp"

#include "analysis/batch/trend.hpp"
#include "analysis/report/html/document.hpp"
#include "analysis/report/html/tables.hpp"
#include "analysis/report/json/estimate_json.hpp"
#include "analysis/report/pictures/control_chart.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "bench/commands/batch/batch_files.hpp"
#include "bench/commands/shell/calibrate_output.hpp"
#include "bench/commands/shell/deliver.hpp"
#include "bench/evidence/known_profile.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <memory>

namespace dropledger::cli {

namespace {

using Json = nlohmann::ordered_json;
namespace html = report::html;
namespace pictures = report::pictures;
using pictures::element;
using pictures::escaped;

struct Options {
    std::vector<std::string> files;
    std::optional<std::string> html;
    bool json = false;
};

Result<batch::BatchFigures> read_figures(const std::string& file) {
    const auto read = load_batch(file);
    if (!read)
        return read.error();
    const auto profile = verdict::parse_profile(read->profile.text, file);
    if (!profile)
        return profile.error();
    return batch::figures_of(*read, evidence::miss_limit(*profile), profile->confidence);
}

Result<batch::BatchTrend> trend_of(const Options& options) {
    std::vector<batch::BatchFigures> batches;
    for (const std::string& file : options.files) {
        auto figures = read_figures(file);
        if (!figures)
            return figures.error();
        batches.push_back(std::move(*figures));
    }
    return batch::batch_trend(std::move(batches));
}

std::vector<std::string> names_of(const batch::BatchTrend& trend,
                                  const batch::BatchQuantity& quantity) {
    std::vector<std::string> names;
    for (const std::size_t at : quantity.batches)
        names.push_back(trend.batches[at].id);
    return names;
}

Json or_null(const std::optional<double>& value) {
    return value ? Json(*value) : Json(nullptr);
}

Json signals_json(const statistics::ControlChart& chart, const std::vector<std::string>& names) {
    Json signals = Json::array();
    for (const statistics::ControlSignal& one : chart.signals)
        signals.push_back({{"rule", statistics::rule_name(one.rule)},
                           {"first_batch", names.at(one.first)},
                           {"last_batch", names.at(one.last)},
                           {"sentence", one.sentence}});
    return signals;
}

Json json_of(const batch::BatchTrend& trend, const batch::BatchQuantity& quantity) {
    const auto names = names_of(trend, quantity);
    const auto& chart = quantity.chart;
    Json json{{"quantity", quantity.key}};
    json["centre"] = chart ? Json(chart->centre) : Json(nullptr);
    json["sigma"] = chart ? Json(chart->sigma) : Json(nullptr);
    json["lower"] = chart ? or_null(chart->points.front().lower) : Json(nullptr);
    json["upper"] = chart ? or_null(chart->points.front().upper) : Json(nullptr);
    json["provisional"] = chart ? Json(chart->provisional()) : Json(nullptr);
    json["points"] = Json::array();
    for (std::size_t i = 0; i < names.size(); ++i) {
        Json point = report::estimate_json(quantity.values[i]);
        point["batch"] = names[i];
        json["points"].push_back(point);
    }
    json["signals"] = chart ? signals_json(*chart, names) : Json::array();
    json["left_out"] = quantity.left_out;
    json["caution"] = quantity.caution;
    return json;
}

Json json_of(const batch::BatchTrend& trend) {
    Json json{{"schema", "dropledger/batch-trend/1"}, {"batches", Json::array()}};
    for (const batch::BatchFigures& batch : trend.batches)
        json["batches"].push_back({{"id", batch.id},
                                   {"opened", batch.opened},
                                   {"outcome", batch.outcome},
                                   {"units", batch.found.units},
                                   {"drops", batch.found.drops},
                                   {"misses", batch.found.misses}});
    json["trends"] = Json::array();
    for (const batch::BatchQuantity& quantity : trend.quantities)
        json["trends"].push_back(json_of(trend, quantity));
    return json;
}

std::string limits_words(const statistics::ControlChart& chart) {
    const auto percent = [](const std::optional<double>& share) {
        return share ? fmt::format("{:.3f} %", 100.0 * *share) : std::string("none");
    };
    const auto& first = chart.points.front();
    return fmt::format("centre {}, lower limit {}, upper limit {}", percent(chart.centre),
                       percent(first.lower), percent(first.upper));
}

std::string text_of(const batch::BatchTrend& trend) {
    TextPage page;
    for (const batch::BatchQuantity& quantity : trend.quantities) {
        page.add("{}\n", quantity.name);
        const auto names = names_of(trend, quantity);
        for (std::size_t i = 0; i < names.size(); ++i) {
            const batch::BatchFigures& batch = trend.batches[quantity.batches[i]];
            page.add("  {:>3}  {}  {:<16}  {:<12}  {}\n", i + 1, batch.opened.substr(0, 10),
                     batch.id, batch.outcome, calibrate::in_percent(quantity.values[i]));
        }
        for (const std::string& sentence : quantity.left_out)
            page.add("  left out: {}\n", sentence);
        if (quantity.chart) {
            page.add("  {}\n", limits_words(*quantity.chart));
            for (const auto& sentence : pictures::control_sentences(*quantity.chart, names))
                page.add("  {}\n", sentence);
            if (!quantity.caution.empty())
                page.add("  {}\n", quantity.caution);
        } else {
            page.add("  no chart\n");
        }
        page.add("\n");
    }
    return page.text();
}

std::string part(const batch::BatchTrend& trend, const batch::BatchQuantity& quantity) {
    std::string text = element("h2", "", escaped(quantity.name)) + "\n";
    if (quantity.chart)
        text += pictures::control_chart(*quantity.chart, {.what = quantity.name + ", %",
                                                          .of_time = "batches in order of opening",
                                                          .factor = 100.0,
                                                          .names = names_of(trend, quantity)});
    else
        text += html::paragraph("No chart.");
    if (quantity.chart && !quantity.caution.empty())
        text += html::paragraph(quantity.caution);
    return text + (quantity.left_out.empty() ? "" : html::bullet_list(quantity.left_out));
}

std::string page(const batch::BatchTrend& trend) {
    std::string body =
        html::paragraph("Batches", "kind") +
        element("h1", "", fmt::format("{} batches over time", trend.batches.size())) + "\n" +
        html::paragraph("Do they still come from one level, or has something moved? "
                        "A signal is a reason to look, no proof.",
                        "lead");
    for (const batch::BatchQuantity& quantity : trend.quantities)
        body += part(trend, quantity);
    return html::document({.title = "Batches over time", .body = body});
}

Result<int> show(const Options& options) {
    Outputs outputs;
    outputs.reads(options.files).writes("--html", options.html, files::FileKind::html);
    if (const Status allowed = outputs.check(); !allowed)
        return allowed.error();
    const auto trend = trend_of(options);
    if (!trend)
        return trend.error();
    if (options.html)
        outputs.put("--html", page(*trend));
    if (options.json)
        outputs.json(json_of(*trend));
    else
        outputs.text(text_of(*trend));
    const int unmoved = trend->any_chart() ? 0 : 2;
    return outputs.deliver(trend->any_signal() ? 1 : unmoved);
}

} // namespace

void add_batch_trend(Command& batch) {
    const auto options = std::make_shared<Options>();
    batch.subcommand("trend", "has something moved? control charts over batches")
        .option("FILE", options->files, "batch files, NAME.batch.json")
        .required("FILE")
        .option("--html", options->html, "also write a page with the charts to this file")
        .flag("--json", options->json, "print one JSON object and nothing else")
        .manual("batch_trend")
        .runs([options] { return show(*options); });
}

} // namespace dropledger::cli
