#include "bench/commands/field/field.hpp"

#include "analysis/field/audit.hpp"
#include "analysis/report/html/field_page.hpp"
#include "analysis/report/json/field_json.hpp"
#include "analysis/report/json/field_walk.hpp"
#include "analysis/report/json/geojson.hpp"
#include "analysis/report/text/field_text.hpp"
#include "bench/commands/field/field_audit.hpp"
#include "bench/commands/shell/deliver.hpp"
#include "bench/commands/shell/usage.hpp"

#include <fmt/format.h>

#include <memory>

namespace dropledger::cli {

namespace {

struct Options {
    FieldJob job;
    std::optional<std::string> html;
    std::optional<std::string> geojson;
    std::optional<std::string> gpx;
    std::optional<std::string> kml;
    std::optional<std::string> csv;
    std::optional<std::string> csv_separator;
    bool csv_decimal_comma = false;
    bool json = false;
};

Result<report::field::TableForm> form_of(const Options& options) {
    report::field::TableForm form;
    if (options.csv_separator) {
        if (*options.csv_separator == "tab")
            form.separator = '\t';
        else if (options.csv_separator->size() == 1 &&
                 std::string_view(",;|").find(options.csv_separator->front()) !=
                     std::string_view::npos)
            form.separator = options.csv_separator->front();
        else
            return usage("--csv-separator",
                         fmt::format("'{}' is no separator", *options.csv_separator),
                         ", or ; or | or tab");
    }
    form.decimal = options.csv_decimal_comma ? ',' : '.';
    if (form.decimal == form.separator)
        return usage("--csv-decimal-comma", "the comma is separator and decimal sign at once",
                     "give --csv-separator, say ;");
    return form;
}

Status put_files(const Options& options, const field::FieldAudit& audit, Outputs& outputs) {
    const auto put = [&](const char* name, const std::optional<std::string>& file,
                         Result<std::string> (*make)(const field::FieldAudit&)) -> Status {
        if (!file)
            return Done{};
        auto text = make(audit);
        if (!text)
            return text.error();
        outputs.put(name, *std::move(text));
        return Done{};
    };
    if (const Status done = put("--geojson", options.geojson, report::field::to_geojson); !done)
        return done.error();
    if (const Status done = put("--gpx", options.gpx, report::field::to_gpx); !done)
        return done.error();
    if (const Status done = put("--kml", options.kml, report::field::to_kml); !done)
        return done.error();
    if (options.html)
        outputs.put("--html", report::field::to_html(audit));
    if (options.csv) {
        const auto form = form_of(options);
        if (!form)
            return form.error();
        outputs.put("--csv", report::field::walking_list(audit, *form));
    }
    return Done{};
}

int status_of(const field::FieldAudit& audit) {
    if (audit.reseed.gaps > 0)
        return 1;
    const bool open =
        audit.alerts_judged(field::Judgement::unknown) > 0 || audit.reseed.undecided_gaps > 0;
    const bool incomplete = audit.field.rows_bad > 0 ||
                            audit.field.facts.unknown_drops > audit.field.facts.filled_drops;
    return open || incomplete ? 2 : 0;
}

Result<int> run(const Options& options) {
    Outputs outputs;
    outputs.reads(options.job.input.files)
        .reads(options.job.input.mapping)
        .reads(options.job.input.found)
        .writes("--html", options.html, files::FileKind::html)
        .writes("--geojson", options.geojson, files::FileKind::geojson)
        .writes("--gpx", options.gpx, files::FileKind::gpx)
        .writes("--kml", options.kml, files::FileKind::kml)
        .writes("--csv", options.csv, files::FileKind::csv);
    if (const Status allowed = outputs.check(); !allowed)
        return allowed.error();
    if (const auto form = form_of(options); !form)
        return form.error();
    const auto audit = audit_of(options.job);
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

void add_input_options(Command& command, FieldInput& input) {
    command
        .option("FILE", input.files,
                "tables of commanded drops (CSV), a field each where several, - for standard "
                "input; or droplogs, a pass each")
        .required("FILE")
        .option("--mapping", input.mapping, "how the machine names and writes things (TOML)")
        .option("--time-zone", input.time_zone,
                "zone of times that state none, and of the report: Europe/Berlin")
        .option("--blank-means", input.blank_means,
                "a blank `seen` means none (no seed was seen) or unknown")
        .option("--lacking-drops", input.lacking_drops,
                "drop numbers that lack are silent ones, or unknown")
        .option("--drop-step", input.drop_step, "by how much the drop number grows")
        .option("--spacing-mm", input.spacing_mm,
                "distance of two drops as the machine was set; the places are held against it")
        .repeated("--accept", input.accept,
                  "the table is right as it is: seen-above-target, duplicates, alerts, times, "
                  "swapped, spacing, coarse-places or places")
        .option("--row-spacing-mm", input.row_spacing_mm,
                "distance of two rows, with droplogs; 500 where not said")
        .flag("--same-direction", input.same_direction,
              "all passes run the same way, with droplogs")
        .option("--found", input.found,
                "what digging found (CSV: pass, row, first_drop, last_drop, found)");
}

void add_output_options(Command& command, Options& options) {
    command.option("--html", options.html, "write a page with a map to this file")
        .option("--geojson", options.geojson, "write passes, gaps and alerts to this file")
        .option("--gpx", options.gpx, "write the walk for a navigation device (GPX) to this file")
        .option("--kml", options.kml, "write the walk for a map program (KML) to this file")
        .option("--csv", options.csv, "write the walk as a table to this file")
        .option("--csv-separator", options.csv_separator, ", ; | or tab")
        .flag("--csv-decimal-comma", options.csv_decimal_comma, "1,5 instead of 1.5 in the table")
        .flag("--json", options.json, "print one JSON object and nothing else");
}

} // namespace

void declare_field(Command command) {
    const auto options = std::make_shared<Options>();
    add_input_options(command, options->job.input);
    command
        .option("--gate-efficiency", options->job.efficiency.shares,
                "ROW=SHARE ...: share of seeds the row's gate sees; once per row")
        .repeated("--calibration", options->job.efficiency.calibrations,
                  "ROW=RECORD.toml: the same from a bench calibration; RECORD.toml with droplogs, "
                  "which name their units")
        .flag("--calibration-anyway", options->job.efficiency.anyway,
              "use records for another unit, gate or crop too");
    add_decision_options(command, options->job.decision);
    add_output_options(command, *options);
    command.manual("field").runs([options] { return run(*options); });
}

} // namespace dropledger::cli
