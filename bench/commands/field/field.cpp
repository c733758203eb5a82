#include "bench/commands/field/field.hpp"

#include "analysis/field/audit.hpp"
#include "analysis/report/html/field_page.hpp"
#include "analysis/report/json/field_json.hpp"
#include "analysis/report/json/geojson.hpp"
#include "analysis/report/text/field_text.hpp"
#include "bench/commands/field/field_efficiency.hpp"
#include "bench/commands/field/field_input.hpp"
#include "bench/commands/shell/deliver.hpp"
#include "bench/commands/shell/usage.hpp"

#include <fmt/format.h>

#include <memory>

namespace dropledger::cli {

namespace {

struct Options {
    FieldInput input;
    EfficiencyOptions efficiency;
    std::optional<std::string> assume;
    double reseed_min_m = 1.0;
    double germination = 1.0;
    std::optional<double> guard_mm;
    std::optional<double> cost_lost_plant;
    std::optional<double> cost_reseed_metre;
    std::optional<double> cost_gap;
    std::optional<double> cost_seed;
    std::optional<std::string> html;
    std::optional<std::string> geojson;
    std::optional<std::string> csv;
    bool json = false;
};

std::optional<field::Costs> costs_of(const Options& options) {
    if (!options.cost_lost_plant && !options.cost_reseed_metre && !options.cost_gap &&
        !options.cost_seed)
        return std::nullopt;
    return field::Costs{.per_lost_plant = options.cost_lost_plant.value_or(0.0),
                        .per_reseeded_metre = options.cost_reseed_metre.value_or(0.0),
                        .per_gap = options.cost_gap.value_or(0.0),
                        .per_seed = options.cost_seed.value_or(0.0)};
}

Result<field::Assumption> assumption_of(const Options& options) {
    if (!options.assume)
        return field::Assumption::none;
    if (*options.assume == "gates-alike")
        return field::Assumption::gates_alike;
    if (*options.assume == "meters-alike")
        return field::Assumption::meters_alike;
    return usage("--assume", fmt::format("'{}' is no assumption", *options.assume),
                 "gates-alike or meters-alike");
}

Status check(const Options& options) {
    if (!(options.germination >= 0.0 && options.germination <= 1.0))
        return usage("--germination", fmt::format("{} is no share", options.germination),
                     "give 0 to 1, say 0.9");
    if (!(options.reseed_min_m >= 0.0))
        return usage("--reseed-min-m", fmt::format("{} m cannot be", options.reseed_min_m),
                     "give a length, say 2");
    for (const auto& [name, cost] :
         {std::pair{"--cost-lost-plant", options.cost_lost_plant},
          std::pair{"--cost-reseed-metre", options.cost_reseed_metre},
          std::pair{"--cost-gap", options.cost_gap}, std::pair{"--cost-seed", options.cost_seed}})
        if (cost && !(*cost >= 0.0))
            return usage(name, fmt::format("{} is no cost", *cost), "give 0 or more");
    if (!options.cost_lost_plant &&
        (options.cost_reseed_metre || options.cost_gap || options.cost_seed))
        return usage("--cost-lost-plant", "missing: without it doing nothing costs nothing",
                     "say what a lost plant costs, or leave the costs out");
    if (options.guard_mm && !(*options.guard_mm >= 0.0))
        return usage("--guard-mm", fmt::format("{} mm cannot be", *options.guard_mm),
                     "give a distance, say 40");
    return Done{};
}

std::string names_of(const std::vector<std::string>& files) {
    return files.size() == 1 ? files.front()
                             : fmt::format("{} and {} more logs", files.front(), files.size() - 1);
}

Result<field::FieldAudit> audit_of(const Options& options) {
    if (const Status checked = check(options); !checked)
        return checked.error();
    const auto assumption = assumption_of(options);
    if (!assumption)
        return assumption.error();
    auto read = read_input(options.input);
    if (!read)
        return read.error();
    auto efficiencies = gate_efficiencies(options.efficiency, *read);
    if (!efficiencies)
        return efficiencies.error();
    return field::audit_field(*std::move(read), {.file = names_of(options.input.files),
                                                 .gate_efficiencies = *std::move(efficiencies),
                                                 .assumption = *assumption,
                                                 .reseed_min_m = options.reseed_min_m,
                                                 .germination = options.germination,
                                                 .guard_mm = options.guard_mm,
                                                 .costs = costs_of(options)});
}

Status put_files(const Options& options, const field::FieldAudit& audit, Outputs& outputs) {
    if (options.geojson) {
        auto text = report::field::to_geojson(audit);
        if (!text)
            return text.error();
        outputs.put("--geojson", *std::move(text));
    }
    if (options.html)
        outputs.put("--html", report::field::to_html(audit));
    if (options.csv)
        outputs.put("--csv", report::field::walking_list(audit));
    return Done{};
}

int status_of(const field::FieldAudit& audit) {
    if (audit.reseed.gaps > 0)
        return 1;
    const bool open =
        audit.alerts_judged(field::Judgement::unknown) > 0 || audit.reseed.undecided_gaps > 0;
    return open || audit.field.rows_bad > 0 ? 2 : 0;
}

Result<int> run(const Options& options) {
    Outputs outputs;
    outputs.reads(options.input.files)
        .reads(options.input.mapping)
        .writes("--html", options.html, files::FileKind::html)
        .writes("--geojson", options.geojson, files::FileKind::geojson)
        .writes("--csv", options.csv, files::FileKind::csv);
    if (const Status allowed = outputs.check(); !allowed)
        return allowed.error();
    const auto audit = audit_of(options);
    if (!audit)
        return audit.error();
    if (const Status put = put_files(options, *audit, outputs); !put)
        return put.error();
    if (options.json)
        outputs.json_text(report::field::to_json(*audit));
    else
        outputs.text(report::field::to_text(*audit) + "\n");
    return outputs.deliver(status_of(*audit));
}

} // namespace

void add_field(Program& program) {
    const auto options = std::make_shared<Options>();
    program.subcommand("field", "after the missing-seed alerts: gaps, alerts judged, re-seeding")
        .option("FILE", options->input.files,
                "table of commanded drops (CSV), - for standard input; or droplogs, a pass each")
        .required("FILE")
        .option("--gate-efficiency", options->efficiency.shares,
                "ROW=SHARE ...: share of seeds the row's gate sees; once per row")
        .repeated("--calibration", options->efficiency.calibrations,
                  "ROW=RECORD.toml: the same from a bench calibration; RECORD.toml with droplogs, "
                  "which name their units")
        .flag("--calibration-anyway", options->efficiency.anyway,
              "use records for another unit, gate or crop too")
        .option("--assume", options->assume,
                "where no efficiency is known: gates-alike or meters-alike")
        .option("--reseed-min-m", options->reseed_min_m,
                "gaps at least so long are worth re-seeding")
        .option("--germination", options->germination, "share of seeds that become plants")
        .option("--guard-mm", options->guard_mm,
                "distance a blind hoe spares around each commanded place")
        .option("--cost-lost-plant", options->cost_lost_plant,
                "what a lost plant costs, in your currency")
        .option("--cost-reseed-metre", options->cost_reseed_metre, "what re-seeding a metre costs")
        .option("--cost-gap", options->cost_gap, "what reaching one gap costs")
        .option("--cost-seed", options->cost_seed, "what a seed costs")
        .option("--mapping", options->input.mapping,
                "how the machine names and writes things (TOML)")
        .option("--row-spacing-mm", options->input.row_spacing_mm,
                "distance of two rows, with droplogs; 500 where not said")
        .flag("--same-direction", options->input.same_direction,
              "all passes run the same way, with droplogs")
        .option("--html", options->html, "write a page with a map to this file")
        .option("--geojson", options->geojson, "write passes, gaps and alerts to this file")
        .option("--csv", options->csv, "write the gaps in walking order to this file")
        .flag("--json", options->json, "print one JSON object and nothing else")
        .manual("field")
        .runs([options] { return run(*options); });
}

} // namespace dropledger::cli
