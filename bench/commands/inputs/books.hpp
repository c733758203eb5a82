// Opens a bench book, and tells where that brought it up to date.
#pragma once

#include "bench/book/book.hpp"

#include <string>

namespace dropledger::cli {

[[nodiscard]] Result<book::Book> open_book(const std::string& file, bool create);

} // namespace dropledger::cli
