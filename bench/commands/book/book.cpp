#include "bench/commands/book/book.hpp"
#include "bench/commands/shell/deliver.hpp"

#include "bench/book/indexer.hpp"
#include "bench/commands/inputs/profiles.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <nlohmann/json.hpp>

namespace dropledger::cli {

namespace {

using Json = nlohmann::ordered_json;

Result<int> report(const BookOptions& options, const book::Added& added) {
    const int status = added.left_out.empty() ? 0 : 2;
    if (options.json)
        return deliver_json({{"schema", "dropledger/book/1"},
                             {"book", options.book},
                             {"runs", added.runs},
                             {"calibrations", added.calibrations},
                             {"profiles", added.profiles},
                             {"batches", added.batches},
                             {"judged_again", added.judged_again},
                             {"left_out", added.left_out}},
                            status);
    TextPage page;
    page.add("{}: {} runs, {} calibrations, {} profiles, {} batches entered\n", options.book,
             added.runs, added.calibrations, added.profiles, added.batches);
    if (added.judged_again > 0)
        page.add("{} earlier runs judged again\n", added.judged_again);
    for (const std::string& sentence : added.left_out)
        page.add("left out: {}\n", sentence);
    return deliver_text(page.text(), status);
}

Result<int> add_files(const BookOptions& options) {
    auto book = book::Book::open(options.book, true);
    if (!book)
        return book.error();
    const auto added = book::add(*book, options.files, profile_chooser(std::nullopt));
    if (!added)
        return added.error();
    return report(options, *added);
}

Result<int> rebuild(const BookOptions& options) {
    auto book = book::Book::open(options.book, true);
    if (!book)
        return book.error();
    const auto added = book::rebuild(*book, options.folder, profile_chooser(std::nullopt));
    if (!added)
        return added.error();
    return report(options, *added);
}

} // namespace

Result<std::vector<book::Run>> runs_of_unit(const book::Book& book, const std::string& unit) {
    auto runs = book.runs_of(unit);
    if (!runs || !runs->empty())
        return runs;
    const auto units = book.units();
    if (!units)
        return units.error();
    std::vector<std::string> names;
    for (const book::Unit& one : *units)
        names.push_back(one.unit);
    return Error{ErrorKind::usage, book.file(),
                 fmt::format("no run of unit '{}' is in the book", unit),
                 names.empty() ? "enter logs first: dropledger book add LOG"
                               : fmt::format("it knows {}", fmt::join(names, ", "))};
}

void add_book(Program& program) {
    const auto options = std::make_shared<BookOptions>();
    Command book =
        program.subcommand("book", "units, lots, calibrations, runs and verdicts over the seasons");
    add_book_list(book, options);
    add_book_show(book, options);
    add_book_trend(book, options);
    book.subcommand("add", "enter logs, calibration records, profiles and batches")
        .option("FILE", options->files,
                "droplogs, calibration records, tolerance profiles, batch files")
        .required("FILE")
        .option("--book", options->book, "the book")
        .flag("--json", options->json, "the result as JSON on standard output")
        .manual("book_add")
        .runs([options] { return add_files(*options); });
    book.subcommand("rebuild", "make the book anew from a folder")
        .option("FOLDER", options->folder, "where the logs, records and profiles lie")
        .required("FOLDER")
        .option("--book", options->book, "the book")
        .flag("--json", options->json, "the result as JSON on standard output")
        .manual("book_rebuild")
        .runs([options] { return rebuild(*options); });
}

} // namespace dropledger::cli
