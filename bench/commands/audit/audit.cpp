#include "bench/commands/audit/audit.hpp"

#include "analysis/audit/audit.hpp"
#include "analysis/audit/spacings.hpp"
#include "analysis/report/html/page.hpp"
#include "analysis/report/json/audit_json.hpp"
#include "analysis/report/text/audit_text.hpp"
#include "bench/book/judging.hpp"
#include "bench/commands/inputs/calibrations.hpp"
#include "bench/commands/inputs/profiles.hpp"
#include "bench/commands/shell/deliver.hpp"
#include "bench/io/file_source.hpp"

#include <fmt/format.h>

#include <cmath>
#include <memory>

namespace dropledger::cli {

namespace {

constexpr const char* manual = R"(DESCRIPTION
  Reconciles every commanded drop of a run with what fell (the ledger), computes spacing indices, placement and
  their uncertainty, and judges each unit by a tolerance profile: within, outside or undecided.

INPUT
  LOG is a droplog (NAME.droplog) as `dropledger run` writes it; - reads standard input. Several logs are audited
  one by one; a unit that ran at three speeds or more is also looked at over its runs: do misses, multiples or the
  offset change with speed. --spacings takes a list instead: one column, header spacing_mm or position_mm, measured by tape,
  belt or rule; give the theoretical spacing with --spacing-mm.

CALIBRATION
  --calibration FILE takes flight time and counting efficiency from a record that `dropledger calibrate ... --write`
  made. Misses, multiples and singles (portions: counts; a line: rate and evenness) are then shown as seen and with the
  seeds put back that the gate overlooked, and judged by the latter; the report says what the verdict would be without. A
  record for another unit, gate, bench, crop or seed size is refused unless --calibration-anyway says to use it; an expired one
  is named and shown, but does not judge.
  --book FILE takes profile and calibration from the bench book: the profile that the log names, and the calibration that
  speaks for the unit, gate, bench and crop on the day of the run (`dropledger book --help`). --profile and --calibration
  go over it.

OUTPUT
  A report on standard output, with --json one JSON object (schema dropledger/audit/1) and nothing else there;
  with --html also a page to read and print. The page is written aside and renamed: never half of it.

ACCURACY
  Places are whole micrometres, times whole microseconds. A share's interval is Clopper-Pearson's, widened where
  misses or multiples do not come independently. Drops are matched to landings by the offset common to all of
  them, which is known up to a whole spacing only.

EXIT STATUS
  0 all within, 1 at least one outside, 2 none outside but undecided or incomplete, 64 wrong usage,
  65 nothing readable, 70 a bug of ours, 74 file trouble.

EXAMPLES
  dropledger audit chicory.droplog
  dropledger audit chicory.droplog --profile single-fine --html chicory.html
  dropledger audit --spacings tape.csv --spacing-mm 180 --json)";

struct Options {
    std::vector<std::string> logs;
    std::optional<std::string> spacings;
    std::optional<double> spacing_mm;
    std::optional<std::string> mode;
    std::optional<std::string> profile;
    std::optional<std::string> html;
    std::vector<std::string> calibrations;
    std::optional<std::string> book;
    bool calibration_anyway = false;
    bool json = false;
};

Error wrong(std::string option, std::string what, std::string remedy) {
    return {ErrorKind::usage, "option " + option, std::move(what), std::move(remedy)};
}

Status check_inputs(const Options& options) {
    if (options.spacings && !options.logs.empty())
        return wrong("--spacings", "a list of spacings and logs at once", "give one or the other");
    if (!options.spacings && options.logs.empty())
        return wrong("LOG", "nothing to audit", "name at least one log, or --spacings FILE.csv");
    if (options.spacings && (!options.calibrations.empty() || options.book))
        return wrong(options.book ? "--book" : "--calibration",
                     "a list of spacings has no gate to be calibrated", "leave it out");
    return Done{};
}

Result<ledger::SetupOverrides> overrides_of(const Options& options) {
    constexpr double greatest_mm = 100'000.0;
    ledger::SetupOverrides overrides;
    if (options.spacing_mm) {
        if (!(*options.spacing_mm >= 0.001 && *options.spacing_mm <= greatest_mm))
            return wrong("--spacing-mm", fmt::format("{} mm cannot be", *options.spacing_mm),
                         "give the distance between commanded drops in millimetres, say 180");
        overrides.spacing_um = std::llround(*options.spacing_mm * 1000.0);
    }
    if (options.mode) {
        overrides.mode = ledger::mode_of(*options.mode);
        if (!overrides.mode)
            return wrong("--mode", fmt::format("'{}' is no mode", *options.mode),
                         "single, portion or line");
    }
    return overrides;
}

// Profile and calibration: what the operator names goes over the book, and the book over what comes
// with the program.
Result<audit::AuditOptions> judged_by(const Options& options) {
    audit::AuditOptions how;
    if (options.book) {
        const auto book = book::Book::open(*options.book, false);
        if (!book)
            return book.error();
        auto from_book = book::audit_options(*book, profile_chooser(std::nullopt));
        if (!from_book)
            return from_book.error();
        how = *std::move(from_book);
    }
    if (!options.book || options.profile)
        how.choose_profile = profile_chooser(options.profile);
    if (options.calibrations.empty())
        return how;
    auto calibrate = calibration_chooser(options.calibrations, options.calibration_anyway);
    if (!calibrate)
        return calibrate.error();
    how.calibrate = *std::move(calibrate);
    return how;
}

using Reports = std::vector<audit::AuditReport>;

Result<Reports> audit_all(const Options& options) {
    if (const Status status = check_inputs(options); !status)
        return status.error();
    const auto overrides = overrides_of(options);
    if (!overrides)
        return overrides.error();
    auto judging = judged_by(options);
    if (!judging)
        return judging.error();
    audit::AuditOptions how = *std::move(judging);
    how.overrides = *overrides;
    Reports reports;
    const std::vector<std::string> files =
        options.spacings ? std::vector{*options.spacings} : options.logs;
    for (const std::string& file : files) {
        how.file = file;
        const OpenBytes open = files::open_file(file);
        auto one =
            options.spacings ? audit::audit_spacings(open, how) : audit::audit_log(open, how);
        if (!one)
            return one.error();
        reports.push_back(*std::move(one));
    }
    return reports;
}

int status_of(const Reports& reports) {
    std::vector<verdict::Outcome> outcomes;
    outcomes.reserve(reports.size());
    for (const audit::AuditReport& report : reports)
        outcomes.push_back(report.outcome);
    switch (verdict::worst(outcomes, verdict::Outcome::undecided)) {
    case verdict::Outcome::within:
        return 0;
    case verdict::Outcome::outside:
        return 1;
    case verdict::Outcome::undecided:
        return 2;
    }
    throw BrokenInvariant("an outcome without a status");
}

Result<int> audit(const Options& options) {
    Outputs outputs;
    outputs.reads(options.logs)
        .reads(options.calibrations)
        .reads(options.spacings)
        .reads(options.book)
        .reads(options.profile)
        .writes("--html", options.html, files::FileKind::html);
    if (const Status allowed = outputs.check(); !allowed)
        return allowed.error();
    const auto reports = audit_all(options);
    if (!reports)
        return reports.error();
    if (options.html)
        outputs.put("--html", report::html::to_html(*reports));
    if (options.json)
        outputs.json_text(reports->size() == 1 ? report::to_json(reports->front())
                                               : report::to_json(*reports));
    else
        outputs.text(report::to_text(*reports));
    return outputs.deliver(status_of(*reports));
}

} // namespace

void add_audit(Program& program) {
    const auto options = std::make_shared<Options>();
    program.subcommand("audit", "reconcile drops with what fell, compute indices, give a verdict")
        .option("LOG", options->logs, "droplogs to audit, - for standard input")
        .option("--spacings", options->spacings,
                "audit a list of spacings or positions (CSV) instead")
        .option("--spacing-mm", options->spacing_mm,
                "theoretical spacing; needed with --spacings, else over what the log says")
        .option("--mode", options->mode, "single, portion or line, over what the log says")
        .option("--profile", options->profile, "tolerance profile: a name or a file (NAME.toml)")
        .repeated("--calibration", options->calibrations,
                  "calibration record (TOML) of a gate that judges; several may be named, each "
                  "with --calibration")
        .option("--book", options->book, "bench book that profile and calibration are taken from")
        .flag("--calibration-anyway", options->calibration_anyway,
              "use them even where they are for another unit, gate, bench or crop")
        .option("--html", options->html, "write a page to read and print to this file")
        .flag("--json", options->json, "the result as JSON on standard output")
        .manual(manual)
        .runs([options] { return audit(*options); });
}

} // namespace dropledger::cli
