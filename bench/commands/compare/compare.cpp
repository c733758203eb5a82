#include "bench/commands/compare/compare.hpp"

#include "analysis/audit/before_after.hpp"
#include "analysis/report/html/change_section.hpp"
#include "analysis/report/json/change_json.hpp"
#include "analysis/report/text/change_text.hpp"
#include "bench/book/book.hpp"
#include "bench/commands/inputs/books.hpp"
#include "bench/commands/run/job/run_verdict.hpp"
#include "bench/commands/shell/answer.hpp"
#include "bench/io/file_source.hpp"

#include <nlohmann/json.hpp>

#include <memory>

namespace dropledger::cli {

namespace {

constexpr int exit_undecided = 2;

struct Options : Shown {
    std::string before;
    std::string after;
    std::optional<std::string> book;
    std::optional<std::string> profile;
};

Result<audit::BeforeAfter> compared(const Options& options) {
    RunOptions judging;
    judging.book = options.book;
    judging.profile = options.profile;
    std::optional<book::Book> book;
    if (options.book) {
        auto open = open_book(*options.book, false);
        if (!open)
            return open.error();
        book = *std::move(open);
    }
    const book::Book* const known = book ? &*book : nullptr;
    const auto before = audited(judging, known, options.before, files::open_file(options.before));
    if (!before)
        return before.error();
    const auto after = audited(judging, known, options.after, files::open_file(options.after));
    if (!after)
        return after.error();
    return audit::before_and_after(*before, *after);
}

// 0 where something was compared.
int status_of(const audit::BeforeAfter& found) {
    return found.comparisons > 0 ? 0 : exit_undecided;
}

} // namespace

void declare_compare(Command command) {
    const auto options = std::make_shared<Options>();
    command.option("BEFORE", options->before, "droplog of the earlier run")
        .required("BEFORE")
        .option("AFTER", options->after, "droplog of the run after it")
        .required("AFTER")
        .option("--book", options->book, "bench book that profile and calibration are taken from")
        .option("--profile", options->profile, "tolerance profile: a name or a file (NAME.toml)")
        .option("--html", options->html, "also write a page to this file")
        .manual("compare");
    answers(command, options,
            Answer<Options, audit::BeforeAfter>{
                .find = compared,
                .json = [](const audit::BeforeAfter& found) { return report::to_json(found); },
                .text = [](const audit::BeforeAfter& found) { return report::to_text(found); },
                .page = report::html::change_page,
                .status = status_of,
                .inputs =
                    [](const Options& asked) {
                        return std::vector{asked.before, asked.after};
                    }});
}

} // namespace dropledger::cli
