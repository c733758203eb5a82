// dropledger book: the index of units, lots, calibrations, runs and verdicts, and what it says of a
// unit.
#pragma once

#include "bench/book/book.hpp"
#include "bench/book/trend.hpp"
#include "bench/commands/shell/command.hpp"

#include <memory>
#include <string>
#include <vector>

namespace dropledger::cli {

void add_book(Program& program);

struct BookOptions {
    std::string book = "bench.book";
    std::string unit;               // show, trend
    std::vector<std::string> files; // add
    std::string folder;             // rebuild
    std::vector<std::string> quantities;
    std::optional<std::string> html;
    bool json = false;
};

// Each a subcommand of `book`.
void add_book_list(Command& book, const std::shared_ptr<BookOptions>& options);
void add_book_show(Command& book, const std::shared_ptr<BookOptions>& options);
void add_book_trend(Command& book, const std::shared_ptr<BookOptions>& options);

// The unit's runs; fails where the book has none, and names what is most like it.
[[nodiscard]] Result<std::vector<book::Run>> runs_of_unit(const book::Book& book,
                                                          const std::string& unit);

} // namespace dropledger::cli
