#include "bench/commands/run/job/run_verdict.hpp"

#include "analysis/audit/audit.hpp"
#include "analysis/base/shown_text.hpp"
#include "analysis/report/text/verdict_table.hpp"
#include "bench/book/judging.hpp"
#include "bench/commands/inputs/calibrations.hpp"
#include "bench/commands/inputs/profiles.hpp"
#include "bench/commands/shell/dates.hpp"
#include "bench/commands/shell/standard.hpp"
#include "bench/io/file_source.hpp"
#include "calibration/record/choice.hpp"

namespace dropledger::cli {

namespace {

// The records that were named as files; an id alone is looked up by the book only.
std::vector<std::string> record_files(const RunOptions& options) {
    std::vector<std::string> files;
    if (options.calibration)
        for (const std::string& name : calibration::ids_in(*options.calibration))
            if (names_a_file(name))
                files.push_back(name);
    return files;
}

Result<audit::AuditOptions> judged_by(const RunOptions& options, const book::Book* book) {
    audit::AuditOptions how;
    how.choose_profile = profile_chooser(options.profile);
    if (book != nullptr) {
        auto from_book = book::audit_options(*book, how.choose_profile);
        if (!from_book)
            return from_book.error();
        how = *std::move(from_book);
    }
    const auto files = record_files(options);
    if (files.empty())
        return how;
    auto calibrate = calibration_chooser(files, options.calibration_anyway);
    if (!calibrate)
        return calibrate.error();
    how.calibrate = *std::move(calibrate);
    return how;
}

} // namespace

Result<audit::AuditReport> audited(const RunOptions& options, const book::Book* book,
                                   const std::string& log, const OpenBytes& open) {
    auto how = judged_by(options, book);
    if (!how)
        return how.error();
    how->file = log;
    auto report = audit::audit_log(open, *how);
    if (report)
        report->started_here = local_words(report->started);
    return report;
}

void show_verdict(const RunOptions& options, const book::Book* book, const std::string& log) {
    const auto report = audited(options, book, log, files::open_file(log));
    if (!report) {
        tell("not audited: {}\n", report.error().message());
        return;
    }
    const std::string table = report::verdict_table(*report);
    if (const Status written = write_standard_output(shown_text(table, Breaks::kept)); !written)
        tell("dropledger: {}\n", written.error().message());
}

} // namespace dropledger::cli
