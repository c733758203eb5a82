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

constexpr const char* add_manual = R"(DESCRIPTION
  Enters logs, calibration records, tolerance profiles and batch files into the book. A run is judged by the profile that its log names
  and with the calibration in the book that speaks for it; runs that were entered before a calibration are judged
  again when it comes. All files are entered, or none.

INPUT
  FILE: a droplog, a calibration record (TOML, from `dropledger calibrate ... --write`) a tolerance profile
  or a batch (*.batch.json). The book is made where it is not there; it names files from its own folder, so keep it
  beside the logs.

OUTPUT
  --json: book, runs, calibrations, profiles, batches, judged_again, left_out.

EXIT STATUS
  0 all entered, 2 some earlier runs could not be judged again, 65 a file cannot be read, 74 file trouble.

EXAMPLES
  dropledger book add SU-0042.droplog CAL-SU-0042.toml
  dropledger book add --book spring/bench.book spring/*.droplog)";

constexpr const char* rebuild_manual = R"(DESCRIPTION
  Empties the book and enters everything that lies in FOLDER and below it: *.droplog, *.batch.json, and *.toml that are calibration
  records or tolerance profiles. The book follows from those files alone, so that it comes out the same.

OUTPUT
  What was entered, and what was left out and why. --json: book, runs, calibrations, profiles, batches, judged_again, left_out.

EXIT STATUS
  0 all entered, 2 something was left out, 64 wrong usage, 74 the folder or the book cannot be used.

EXAMPLES
  dropledger book rebuild spring --book spring/bench.book)";

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
        .manual(add_manual)
        .runs([options] { return add_files(*options); });
    book.subcommand("rebuild", "make the book anew from a folder")
        .option("FOLDER", options->folder, "where the logs, records and profiles lie")
        .required("FOLDER")
        .option("--book", options->book, "the book")
        .flag("--json", options->json, "the result as JSON on standard output")
        .manual(rebuild_manual)
        .runs([options] { return rebuild(*options); });
}

} // namespace dropledger::cli
