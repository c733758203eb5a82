#include "bench/cli/field.hpp"

#include "analysis/base/text.hpp"
#include "analysis/field/audit.hpp"
#include "analysis/report/field/geojson.hpp"
#include "analysis/report/field/json.hpp"
#include "analysis/report/field/page.hpp"
#include "analysis/report/field/text.hpp"
#include "bench/files/file_source.hpp"
#include "bench/files/write_aside.hpp"

#include <fmt/format.h>

#include <memory>

namespace dropledger::cli {

namespace {

constexpr const char* manual = R"(DESCRIPTION
  Reads the drops of a field and says where seed is missing, where only the sensor missed it, and where that can't be
  told; which unit is concerned; and what re-seeding would take. A log alone cannot separate a meter that misses one
  in three at random from a sensor blind to one in three: give --gate-efficiency ROW=SHARE from the gate's
  bench calibration.

INPUT
  FILE is a table (CSV), one row per commanded drop, any column order: time (RFC 3339 or seconds since 1970), pass, row,
  drop, lat and lon (or east_m and north_m), target, seen, alert; optional offset_mm. - reads standard input. A machine
  that writes otherwise is read through --mapping FILE.toml (columns, units, separator, decimal comma, UTM zone,
  offset of local time). Rows that cannot be read are counted, shown and kept out.

OUTPUT
  A report on standard output, or with --json one JSON object (schema dropledger/field/1). A gap is a run of
  consecutive drops for which nothing was seen, one drop and more; its length is the bare ground from the last drop
  before it to the first behind it; from and to are its own first and last drop. --geojson writes passes, gaps and
  alerts (RFC 7946), --csv the gaps in walking order, --html a page with a map.

ACCURACY
  Lengths are geodesic (WGS 84). missing means a probability of at least 0.9, sensor of at most 0.1. The calibration of
  these probabilities on simulated fields is in analysis/field/README.md.

EXIT STATUS
  0 no gap worth re-seeding and no alert open, 1 at least one gap worth re-seeding, 2 none, but alerts or gaps as long
  that can't be told, or rows of the table kept out, 64 wrong usage, 65 nothing readable, 70 a bug of ours,
  74 file trouble.

EXAMPLES
  dropledger field night.csv --gate-efficiency 3=0.97 --reseed-min-m 2 --html night.html
  dropledger field night.csv --germination 0.9 --csv walk.csv --geojson night.geojson)";

struct Options {
    std::string file;
    std::vector<std::string> gate_efficiencies;
    double reseed_min_m = 1.0;
    double germination = 1.0;
    std::optional<double> guard_mm;
    std::optional<double> cost_lost_plant;
    std::optional<double> cost_reseed_metre;
    std::optional<double> cost_gap;
    std::optional<double> cost_seed;
    std::optional<std::string> mapping;
    std::optional<std::string> html;
    std::optional<std::string> geojson;
    std::optional<std::string> csv;
    bool json = false;
};

Error wrong(std::string option, std::string what, std::string remedy) {
    return {ErrorKind::usage, "option " + option, std::move(what), std::move(remedy)};
}

Result<field::GateEfficiencies> efficiencies_of(const std::vector<std::string>& given) {
    field::GateEfficiencies efficiencies;
    for (const std::string& one : given) {
        const auto parts = split(one, '=');
        const auto row = parse_int(parts.front());
        const auto share = parts.size() == 2 ? parse_double(parts[1]) : std::nullopt;
        if (!row || !share || !(*share > 0.0 && *share <= 1.0))
            return wrong("--gate-efficiency", fmt::format("'{}' is not ROW=SHARE", one),
                         "give the row's number and a share over 0 and up to 1, say 3=0.97");
        if (!efficiencies.emplace(*row, *share).second)
            return wrong("--gate-efficiency", fmt::format("row {} is given twice", *row), "give it once");
    }
    return efficiencies;
}

std::optional<field::Costs> costs_of(const Options& options) {
    if (!options.cost_lost_plant && !options.cost_reseed_metre && !options.cost_gap && !options.cost_seed)
        return std::nullopt;
    return field::Costs{.per_lost_plant = options.cost_lost_plant.value_or(0.0),
                        .per_reseeded_metre = options.cost_reseed_metre.value_or(0.0),
                        .per_gap = options.cost_gap.value_or(0.0),
                        .per_seed = options.cost_seed.value_or(0.0)};
}

Result<field::FieldOptions> field_options(const Options& options) {
    auto efficiencies = efficiencies_of(options.gate_efficiencies);
    if (!efficiencies)
        return efficiencies.error();
    if (!(options.germination >= 0.0 && options.germination <= 1.0))
        return wrong("--germination", fmt::format("{} is no share", options.germination), "give 0 to 1, say 0.9");
    if (!(options.reseed_min_m >= 0.0))
        return wrong("--reseed-min-m", fmt::format("{} m cannot be", options.reseed_min_m), "give a length, say 2");
    if (options.guard_mm && !(*options.guard_mm >= 0.0))
        return wrong("--guard-mm", fmt::format("{} mm cannot be", *options.guard_mm), "give a distance, say 40");
    return field::FieldOptions{.file = options.file,
                               .gate_efficiencies = *std::move(efficiencies),
                               .reseed_min_m = options.reseed_min_m,
                               .germination = options.germination,
                               .guard_mm = options.guard_mm,
                               .costs = costs_of(options)};
}

Result<field::Mapping> mapping_of(const Options& options) {
    constexpr std::size_t most_bytes = 1'000'000;
    if (!options.mapping)
        return field::Mapping{};
    auto source = files::open_file(*options.mapping)();
    if (!source)
        return source.error();
    const auto text = read_whole(**source, most_bytes);
    if (!text)
        return text.error();
    return field::parse_mapping(*text, *options.mapping);
}

Result<field::FieldAudit> audit_of(const Options& options) {
    auto how = field_options(options);
    if (!how)
        return how.error();
    const auto mapping = mapping_of(options);
    if (!mapping)
        return mapping.error();
    auto source = files::open_file(options.file)();
    if (!source)
        return source.error();
    auto read = field::read_field(**source, options.file, *mapping);
    if (!read)
        return read.error();
    return field::audit_field(*std::move(read), *std::move(how));
}

Status write_files(const Options& options, const field::FieldAudit& audit) {
    if (options.geojson) {
        const auto text = report::field::to_geojson(audit);
        if (!text)
            return text.error();
        if (const Status written = files::write_file_aside(*options.geojson, *text); !written)
            return written.error();
    }
    if (options.html)
        if (const Status written = files::write_file_aside(*options.html, report::field::to_html(audit)); !written)
            return written.error();
    if (options.csv)
        if (const Status written = files::write_file_aside(*options.csv, report::field::walking_list(audit)); !written)
            return written.error();
    return Done{};
}

int status_of(const field::FieldAudit& audit) {
    if (audit.reseed.gaps > 0)
        return 1;
    const bool open = audit.alerts_judged(field::Judgement::unknown) > 0 || audit.reseed.undecided_gaps > 0;
    return open || audit.field.rows_bad > 0 ? 2 : 0;
}

Result<int> run(const Options& options) {
    const auto audit = audit_of(options);
    if (!audit)
        return audit.error();
    if (const Status written = write_files(options, *audit); !written)
        return written.error();
    fmt::print("{}\n", options.json ? report::field::to_json(*audit) : report::field::to_text(*audit));
    return status_of(*audit);
}

} // namespace

void add_field(Program& program) {
    const auto options = std::make_shared<Options>();
    program.subcommand("field", "after the missing-seed alerts: gaps, alerts judged, re-seeding")
        .option("FILE", options->file, "table of commanded drops (CSV), - for standard input")
        .required("FILE")
        .option("--gate-efficiency", options->gate_efficiencies,
                "ROW=SHARE: share of seeds the row's gate sees; once per row")
        .option("--reseed-min-m", options->reseed_min_m, "gaps at least so long are worth re-seeding")
        .option("--germination", options->germination, "share of seeds that become plants")
        .option("--guard-mm", options->guard_mm, "distance a blind hoe spares around each commanded place")
        .option("--cost-lost-plant", options->cost_lost_plant, "what a lost plant costs, in your currency")
        .option("--cost-reseed-metre", options->cost_reseed_metre, "what re-seeding a metre costs")
        .option("--cost-gap", options->cost_gap, "what reaching one gap costs")
        .option("--cost-seed", options->cost_seed, "what a seed costs")
        .option("--mapping", options->mapping, "how the machine names and writes things (TOML)")
        .option("--html", options->html, "write a page with a map to this file")
        .option("--geojson", options->geojson, "write passes, gaps and alerts to this file")
        .option("--csv", options->csv, "write the gaps in walking order to this file")
        .flag("--json", options->json, "the result as JSON on standard output")
        .manual(manual)
        .runs([options] { return run(*options); });
}

} // namespace dropledger::cli
