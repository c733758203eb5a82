#include "bench/commands/audit/audit.hpp"

#include "analysis/audit/audit.hpp"
#include "analysis/audit/spacings.hpp"
#include "analysis/report/html/page.hpp"
#include "analysis/report/json/audit_json.hpp"
#include "analysis/report/pdf/machine_pages.hpp"
#include "analysis/report/pdf/pages.hpp"
#include "analysis/report/text/audit_text.hpp"
#include "analysis/report/words/machine_sheet.hpp"
#include "bench/book/judging.hpp"
#include "bench/commands/inputs/books.hpp"
#include "bench/commands/inputs/calibrations.hpp"
#include "bench/commands/inputs/profiles.hpp"
#include "bench/commands/shell/dates.hpp"
#include "bench/commands/shell/deliver.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/io/file_source.hpp"

#include <fmt/format.h>

#include <cmath>
#include <memory>

namespace dropledger::cli {

namespace {

constexpr const char* program_name = "dropledger";

struct Options {
    std::vector<std::string> logs;
    std::optional<std::string> spacings;
    std::optional<double> spacing_mm;
    std::optional<std::string> mode;
    std::optional<std::string> profile;
    std::optional<std::string> html;
    std::optional<std::string> sheet;
    std::vector<std::string> calibrations;
    std::optional<std::string> book;
    bool calibration_anyway = false;
    bool as_one = false;
    bool json = false;
    bool brief = false;
    bool full = false;
};

Status check_inputs(const Options& options) {
    if (options.spacings && !options.logs.empty())
        return usage("--spacings", "a list of spacings and logs at once", "give one or the other");
    if (!options.spacings && options.logs.empty())
        return usage("LOG", "nothing to audit", "name at least one log, or --spacings FILE.csv");
    if (options.spacings && (!options.calibrations.empty() || options.book))
        return usage(options.book ? "--book" : "--calibration",
                     "a list of spacings has no gate to be calibrated", "leave it out");
    return Done{};
}

Result<ledger::SetupOverrides> overrides_of(const Options& options) {
    constexpr double greatest_mm = 100'000.0;
    ledger::SetupOverrides overrides;
    if (options.spacing_mm) {
        if (!(*options.spacing_mm >= 0.001 && *options.spacing_mm <= greatest_mm))
            return usage("--spacing-mm", fmt::format("{} mm cannot be", *options.spacing_mm),
                         "give the distance between commanded drops in millimetres, say 180");
        overrides.spacing_um = std::llround(*options.spacing_mm * 1000.0);
    }
    if (options.mode) {
        overrides.mode = ledger::mode_of(*options.mode);
        if (!overrides.mode)
            return usage("--mode", fmt::format("'{}' is no mode", *options.mode),
                         "single, portion or line");
    }
    return overrides;
}

// Profile and calibration: what the operator names goes over the book, and the book over what comes
// with the program.
Result<audit::AuditOptions> judged_by(const Options& options) {
    audit::AuditOptions how;
    if (options.book) {
        const auto book = open_book(*options.book, false);
        if (!book)
            return book.error();
        auto from_book = book::audit_options(*book, profile_chooser(std::nullopt));
        if (!from_book)
            return from_book.error();
        how = *std::move(from_book);
    }
    if (options.profile) // told of by itself, not as trouble of the log
        if (const auto known = find_profile(*options.profile); !known)
            return known.error();
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

// The logs behind the first one are read with it.
void join(std::vector<std::string>& files, audit::AuditOptions& how) {
    for (std::size_t i = 1; i < files.size(); ++i)
        how.continued.push_back({files[i], files::open_file(files[i])});
    files.resize(1);
}

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
    std::vector<std::string> files =
        options.spacings ? std::vector{*options.spacings} : options.logs;
    if (options.as_one && !options.spacings)
        join(files, how);
    for (const std::string& file : files) {
        how.file = file;
        const OpenBytes open = files::open_file(file);
        auto one =
            options.spacings
                ? audit::audit_spacings(files::limited(open, file, files::most_table_bytes), how)
                : audit::audit_log(open, how);
        if (!one)
            return one.error();
        one->started_here = local_words(one->started);
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

bool is_pdf(const std::optional<std::string>& file) {
    return file && file->ends_with(".pdf");
}

Result<std::string> sheet_of(const Options& options, const audit::AuditReport& report) {
    const auto sheet = report::machine_sheet(report);
    if (!sheet)
        return usage("--sheet", "a list of spacings is of no machine", "leave it out");
    if (!is_pdf(options.sheet))
        return report::html::sheet_page(*sheet);
    if (const Status able = report::certificate::can_draw(); !able)
        return able.error();
    return report::certificate::to_pdf(*sheet, program_name, report.started);
}

report::Detail detail_of(const Options& options) {
    if (options.full)
        return report::Detail::full;
    return options.brief ? report::Detail::brief : report::Detail::usual;
}

// Last on the screen: the page that has all numbers, or how to see them.
std::string where_the_rest_is(const Options& options) {
    std::string text;
    if (options.sheet)
        text += fmt::format("sheet: {}\n", *options.sheet);
    if (options.html)
        text += fmt::format("page: {}\n", *options.html);
    else if (!options.full)
        text += "all numbers: dropledger audit --full, or --html PAGE.html\n";
    return text;
}

Result<int> audit(const Options& options) {
    if (options.brief && options.full)
        return usage("--brief", "brief and full at once", "give one or the other");
    if (options.sheet && options.logs.size() > 1)
        return usage("--sheet", "several logs and one sheet",
                     "name one log: a sheet is of one run");
    Outputs outputs;
    outputs.reads(options.logs)
        .reads(options.calibrations)
        .reads(options.spacings)
        .reads(options.book)
        .reads(options.profile)
        .writes("--html", options.html, files::FileKind::html)
        .writes("--sheet", options.sheet,
                is_pdf(options.sheet) ? files::FileKind::pdf : files::FileKind::html);
    if (const Status allowed = outputs.check(); !allowed)
        return allowed.error();
    const auto reports = audit_all(options);
    if (!reports)
        return reports.error();
    if (options.html)
        outputs.put("--html", report::html::to_html(*reports));
    if (options.sheet) {
        auto sheet = sheet_of(options, reports->front());
        if (!sheet)
            return sheet.error();
        outputs.put("--sheet", *std::move(sheet));
    }
    if (options.json)
        outputs.json_text(reports->size() == 1 ? report::to_json(reports->front())
                                               : report::to_json(*reports));
    else
        outputs.text(report::to_text(*reports, detail_of(options)) + where_the_rest_is(options));
    return outputs.deliver(status_of(*reports));
}

} // namespace

void declare_audit(Command command) {
    const auto options = std::make_shared<Options>();
    command.option("LOG", options->logs, "droplogs to audit, - for standard input")
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
        .flag("--as-one", options->as_one,
              "judge a run that ended early and the logs that go on with its order as one run")
        .option("--sheet", options->sheet,
                "write the machine's sheet, one A4 page to sign, to this file (.html or .pdf)")
        .flag("--brief", options->brief,
              "only the verdict and one line a unit with what to do next")
        .flag("--full", options->full, "everything that was found, with methods and notes")
        .flag("--json", options->json, "print one JSON object and nothing else")
        .manual("audit")
        .runs([options] { return audit(*options); });
}

} // namespace dropledger::cli
