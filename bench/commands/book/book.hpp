// dropledger book: the index of units, lots, calibrations, runs and verdicts, and what it says of a
// unit.
#pragma once

#include "bench/book/book.hpp"
#include "bench/commands/shell/answer.hpp"
#include "bench/commands/trends/trends.hpp"

#include <string>
#include <vector>

namespace dropledger::cli {

void declare_book(Command command);

struct BookOptions : Shown {
    std::string book = "bench.book";
    std::string unit;               // show, trend
    std::vector<std::string> files; // add
    std::string folder;             // rebuild
    std::vector<std::string> quantities;
    std::string text;               // note, remove
    std::optional<std::string> day; // note
};

// Each a subcommand of `book`.
void add_book_list(Command& book);
void add_book_show(Command& book);
void add_book_trend(Command& book);
void add_book_note(Command& book);
void add_book_remove(Command& book);

struct UnitInBook {
    book::Book book;
    std::string name;            // as the book writes it
    std::vector<book::Run> runs; // of the unit, one at least
};

// Upper and lower case are one. Fails where the book has no run of it, and names the units it
// knows.
[[nodiscard]] Result<UnitInBook> unit_in_book(const BookOptions& options);

// A unit in one line, with what is due; for a list.
struct UnitLine {
    book::Unit unit;
    std::vector<std::string> due;
};
[[nodiscard]] Result<std::vector<UnitLine>> unit_lines(const BookOptions& options);

// The unit's quantities over its runs, as `book trend --html` shows them.
[[nodiscard]] Result<TrendPage> unit_trends(const BookOptions& options);

// As `book note`: a repair of the unit that `options` names, with its text.
[[nodiscard]] Status note_repair(const BookOptions& options);

} // namespace dropledger::cli
