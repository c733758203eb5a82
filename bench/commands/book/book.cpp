#include "bench/commands/book/book.hpp"
#include "bench/commands/shell/answer.hpp"

#include "bench/book/indexer.hpp"
#include "bench/commands/inputs/books.hpp"
#include "bench/commands/inputs/profiles.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <nlohmann/json.hpp>

namespace dropledger::cli {

namespace {

using Json = nlohmann::ordered_json;

struct Entered {
    std::string book;
    book::Added added;
};

Json json_of(const char* schema, const Entered& entered) {
    const book::Added& added = entered.added;
    return {{"schema", schema},
            {"book", entered.book},
            {"runs", added.runs},
            {"calibrations", added.calibrations},
            {"profiles", added.profiles},
            {"batches", added.batches},
            {"judged_again", added.judged_again},
            {"tries", added.tries},
            {"left_out", added.left_out}};
}

std::string text_of(const Entered& entered) {
    const book::Added& added = entered.added;
    TextPage page;
    page.add("{}: {} runs, {} calibrations, {} profiles, {} batches entered\n", entered.book,
             added.runs, added.calibrations, added.profiles, added.batches);
    if (added.judged_again > 0)
        page.add("{} earlier runs judged again\n", added.judged_again);
    if (added.tries > 0)
        page.add("{} logs left aside that only tried a machine's settings\n", added.tries);
    for (const std::string& sentence : added.left_out)
        page.add("left out: {}\n", sentence);
    return page.text();
}

int status_of(const Entered& entered) {
    return entered.added.left_out.empty() ? 0 : 2;
}

// Both ways of entering files: some of them, or the whole folder.
template <class Enter> auto entering(const char* schema, const Enter& enter) {
    return Answer<BookOptions, Entered>{
        .find = [enter](const BookOptions& options) -> Result<Entered> {
            auto book = open_book(options.book, true);
            if (!book)
                return book.error();
            auto added = enter(*book, options);
            if (!added)
                return added.error();
            return Entered{options.book, *std::move(added)};
        },
        .json = [schema](const Entered& entered) { return json_of(schema, entered); },
        .text = text_of,
        .status = status_of};
}

void add_book_add(Command& book) {
    const auto options = std::make_shared<BookOptions>();
    Command command =
        book.subcommand("add", "enter logs, calibration records, profiles and batches");
    command
        .option("FILE", options->files,
                "droplogs, calibration records, tolerance profiles, batch files")
        .required("FILE")
        .option("--book", options->book, "the book")
        .manual("book_add");
    answers(command, options,
            entering("dropledger/book-add/1", [](book::Book& open, const BookOptions& asked) {
                return book::add(open, asked.files, profile_chooser(std::nullopt));
            }));
}

void add_book_rebuild(Command& book) {
    const auto options = std::make_shared<BookOptions>();
    Command command = book.subcommand("rebuild", "make the book anew from a folder");
    command.option("FOLDER", options->folder, "where the logs, records and profiles lie")
        .required("FOLDER")
        .option("--book", options->book, "the book")
        .manual("book_rebuild");
    answers(command, options,
            entering("dropledger/book-rebuild/1", [](book::Book& open, const BookOptions& asked) {
                return book::rebuild(open, asked.folder, profile_chooser(std::nullopt));
            }));
}

std::string lower(std::string text) {
    for (char& c : text)
        if (c >= 'A' && c <= 'Z')
            c = static_cast<char>(c - 'A' + 'a');
    return text;
}

// The unit's name as the book writes it: exactly so, else the only one that differs in case.
Result<std::string> name_in_book(const book::Book& book, const std::string& asked) {
    const auto units = book.units();
    if (!units)
        return units.error();
    std::vector<std::string> names;
    std::vector<std::string> alike;
    for (const book::Unit& one : *units) {
        if (one.unit == asked)
            return one.unit;
        names.push_back(one.unit);
        if (lower(one.unit) == lower(asked))
            alike.push_back(one.unit);
    }
    if (alike.size() == 1)
        return alike.front();
    if (alike.size() > 1)
        return usage_error(book.file(), fmt::format("'{}' may be several units", asked),
                           fmt::format("write it as one of {}", fmt::join(alike, ", ")));
    return usage_error(book.file(), fmt::format("no run of unit '{}' is in the book", asked),
                       names.empty() ? "enter logs first: dropledger book add LOG"
                                     : fmt::format("it knows {}", fmt::join(names, ", ")));
}

} // namespace

Result<UnitInBook> unit_in_book(const BookOptions& options) {
    auto book = open_book(options.book, false);
    if (!book)
        return book.error();
    auto name = name_in_book(*book, options.unit);
    if (!name)
        return name.error();
    auto runs = book->runs_of(*name);
    if (!runs)
        return runs.error();
    return UnitInBook{*std::move(book), *std::move(name), *std::move(runs)};
}

void declare_book(Command book) {
    add_book_list(book);
    add_book_show(book);
    add_book_trend(book);
    add_book_note(book);
    add_book_remove(book);
    add_book_add(book);
    add_book_rebuild(book);
}

} // namespace dropledger::cli
