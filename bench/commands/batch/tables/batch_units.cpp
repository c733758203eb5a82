#include "analysis/base/readers/csv_table.hpp"
#include "analysis/base/readers/or_null.hpp"
#include "analysis/batch/runs/units.hpp"
#include "analysis/report/json/estimate_json.hpp"
#include "bench/commands/batch/tables/tables.hpp"
#include "bench/commands/shell/answer.hpp"
#include "bench/commands/shell/estimate_words.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/io/file_source.hpp"

#include <fmt/format.h>

#include <cmath>
#include <memory>

namespace dropledger::cli {

namespace {

using Json = nlohmann::ordered_json;

struct Options : Shown {
    std::string file;
    double limit = 0.05;
    double confidence = 0.95;
};

struct Compared {
    batch::UnitsResult result;
    std::size_t units = 0;
    double limit = 0.0; // largest miss share of a good unit
};

Result<std::int64_t> count_in(const CsvTable& table, const CsvRow& row, std::size_t column,
                              std::int64_t most) {
    const auto value = table.number(row, column);
    if (!value)
        return value.error();
    if (*value < 0 || *value != std::floor(*value) || *value > static_cast<double>(most))
        return table.problem(row, fmt::format("{} is no count from 0 to {}", *value, most),
                             "give whole numbers, misses at most n");
    return static_cast<std::int64_t>(*value);
}

Result<std::vector<statistics::Group>> read_units(const std::string& file) {
    constexpr std::int64_t most_entries = 1'000'000'000; // beyond, gamma functions give up
    const auto text = files::whole_file(file, files::most_table_bytes);
    if (!text)
        return text.error();
    const auto table =
        CsvTable::read(*text, file, {.needed = {"unit", "n", "misses"}, .optional = {}});
    if (!table)
        return table.error();
    std::vector<statistics::Group> units;
    for (const CsvRow& row : table->rows()) {
        const auto n = count_in(*table, row, 1, most_entries);
        if (!n)
            return n.error();
        const auto misses = count_in(*table, row, 2, *n);
        if (!misses)
            return misses.error();
        units.push_back({*misses, *n});
    }
    if (units.size() < 2)
        return input_error(file, fmt::format("{} unit in it", units.size()),
                           "a comparison needs at least two");
    return units;
}

Json json_of(const Compared& found) {
    const batch::UnitsResult& result = found.result;
    Json json{{"schema", "dropledger/batch-units/1"}};
    json["pooled"] = report::estimate_json(result.pooled);
    json["tarone_z"] = result.tarone ? Json(result.tarone->z) : Json(nullptr);
    json["tarone_p"] = result.tarone ? Json(result.tarone->p) : Json(nullptr);
    json["alpha"] = result.fit ? or_null(result.fit->alpha) : Json(nullptr);
    json["beta"] = result.fit ? or_null(result.fit->beta) : Json(nullptr);
    json["mean"] = result.fit ? Json(result.fit->mu) : Json(nullptr);
    json["log_likelihood"] = result.fit ? Json(result.fit->log_likelihood) : Json(nullptr);
    json["share_outside"] = report::estimate_json(result.share_outside);
    json["limit"] = found.limit;
    return json;
}

std::string text_of(const Compared& found) {
    const batch::UnitsResult& result = found.result;
    TextPage page;
    page.add("{} units\n", found.units);
    if (result.pooled)
        page.add("  misses over all               {}\n", in_percent(*result.pooled));
    if (result.tarone)
        page.add("  differ beyond chance          Tarone's Z = {:.3f}, p = {:.3g}\n",
                 result.tarone->z, result.tarone->p);
    if (result.fit && result.fit->alpha)
        page.add("  a unit's own share            beta-binomial, alpha {:.4g}, beta {:.4g}, mean "
                 "{:.4g}\n",
                 *result.fit->alpha, *result.fit->beta, result.fit->mu);
    else
        page.add(
            "  a unit's own share            no variance between units beyond chance is seen\n");
    if (result.share_outside)
        page.add("  units above {:.3g} %             {} of all such units\n", 100.0 * found.limit,
                 in_percent(*result.share_outside));
    return page.text();
}

Result<Compared> compare(const Options& options) {
    if (!(options.limit > 0.0 && options.limit < 1.0))
        return usage("--limit", fmt::format("{} is no share", options.limit),
                     "give a share, say 0.05");
    if (const Status level = check_confidence(options.confidence); !level)
        return level.error();
    const auto units = read_units(options.file);
    if (!units)
        return units.error();
    return Compared{
        batch::compare_units(*units, Share{options.limit}, Confidence{options.confidence}),
        units->size(), options.limit};
}

} // namespace

void add_batch_units(Command& batch) {
    const auto options = std::make_shared<Options>();
    Command command = batch.subcommand(
        "units", "compare units, and predict the share of all units outside a limit");
    command.option("FILE", options->file, "table of unit, n, misses (CSV)")
        .required("FILE")
        .option("--limit", options->limit, "largest miss share of a good unit")
        .option("--confidence", options->confidence, "of the intervals")
        .manual("batch_units");
    answers(command, options,
            Answer<Options, Compared>{.find = compare, .json = json_of, .text = text_of});
}

} // namespace dropledger::cli
