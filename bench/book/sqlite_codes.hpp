// What SQLite answers, of its public interface (sqlite3.h), which SQLiteCpp hands on as numbers.
#pragma once

namespace dropledger::book {

constexpr int busy = 5;         // SQLITE_BUSY
constexpr int io_error = 10;    // SQLITE_IOERR
constexpr int corrupt = 11;     // SQLITE_CORRUPT
constexpr int no_database = 26; // SQLITE_NOTADB

} // namespace dropledger::book
