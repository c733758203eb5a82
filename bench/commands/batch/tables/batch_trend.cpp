#include "analysis/batch/series/trend.hpp"
#include "analysis/report/json/estimate_json.hpp"
#include "analysis/report/pictures/control_chart.hpp"
#include "bench/commands/batch/files/batch_files.hpp"
#include "bench/commands/batch/tables/tables.hpp"
#include "bench/commands/shell/answer.hpp"
#include "bench/commands/shell/estimate_words.hpp"
#include "bench/commands/trends/trends.hpp"
#include "bench/evidence/certificate/known_profile.hpp"

#include <fmt/format.h>

#include <memory>

namespace dropledger::cli {

namespace {

using Json = nlohmann::ordered_json;
namespace pictures = report::pictures;

struct Options : Shown {
    std::vector<std::string> files;
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

Json json_of(const batch::BatchTrend& trend, const batch::BatchQuantity& quantity) {
    const auto names = names_of(trend, quantity);
    Json points = Json::array();
    for (std::size_t i = 0; i < names.size(); ++i) {
        points.push_back(report::estimate_json(quantity.values[i]));
        points.back()["batch"] = names[i];
    }
    Json json = trend_json({.key = quantity.key,
                            .chart = quantity.chart,
                            .point = "batch",
                            .ids = names,
                            .left_out = quantity.left_out},
                           std::move(points));
    json["caution"] = quantity.caution;
    return json;
}

Json whole_json(const batch::BatchTrend& trend) {
    Json json{{"schema", "dropledger/batch-trend/1"}, {"batches", Json::array()}};
    for (const batch::BatchFigures& batch : trend.batches)
        json["batches"].push_back({{"id", batch.id},
                                   {"opened", batch.opened},
                                   {"outcome", batch.outcome_words()},
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
                     batch.id, batch.outcome_words(), in_percent(quantity.values[i]));
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

TrendPart part(const batch::BatchTrend& trend, const batch::BatchQuantity& quantity) {
    return {.heading = quantity.name,
            .chart = quantity.chart,
            .words = {.what = quantity.name + ", %",
                      .of_time = "batches in order of opening",
                      .factor = 100.0,
                      .names = names_of(trend, quantity)},
            .no_chart = "No chart.",
            .caution = quantity.caution,
            .left_out = quantity.left_out};
}

std::string page(const batch::BatchTrend& trend) {
    TrendPage page{.title = "Batches over time",
                   .kind = "Batches",
                   .heading = fmt::format("{} batches over time", trend.batches.size()),
                   .question = "Do they still come from one level, or has something moved? "
                               "A signal is a reason to look, no proof.",
                   .parts = {}};
    for (const batch::BatchQuantity& quantity : trend.quantities)
        page.parts.push_back(part(trend, quantity));
    return trend_page(page);
}

int status_of(const batch::BatchTrend& trend) {
    const int unmoved = trend.any_chart() ? 0 : 2;
    return trend.any_signal() ? 1 : unmoved;
}

} // namespace

void add_batch_trend(Command& batch) {
    const auto options = std::make_shared<Options>();
    Command command = batch.subcommand("trend", "has something moved? control charts over batches");
    command.option("FILE", options->files, "batch files, NAME.batch.json")
        .required("FILE")
        .option("--html", options->html, "also write a page with the charts to this file")
        .manual("batch_trend");
    answers(command, options,
            Answer<Options, batch::BatchTrend>{
                .find = trend_of,
                .json = whole_json,
                .text = text_of,
                .page = page,
                .status = status_of,
                .inputs = [](const Options& asked) { return asked.files; }});
}

} // namespace dropledger::cli
