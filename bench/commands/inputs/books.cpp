#include "bench/commands/inputs/books.hpp"

#include "bench/commands/shell/standard.hpp"

namespace dropledger::cli {

Result<book::Book> open_book(const std::string& file, bool create) {
    auto book = book::Book::open(file, create);
    if (book && book->kept_copy())
        tell("{}: a book of an earlier version, brought up to date; as it was it is kept in {}\n",
             file, *book->kept_copy());
    return book;
}

} // namespace dropledger::cli
