// The book's rows: values into its tables and out of them.
//
// Throws SQLite::Exception, as the library does; of a word that is none of a closed set as well, for
// nobody but this program writes there.
#pragma once

#include "bench/book/entries.hpp"

#include <string>
#include <vector>

namespace SQLite {
class Database;
}

namespace dropledger::book {

void insert_run(SQLite::Database& database, const Run& run); // with its verdicts
void enter_text(SQLite::Database& database, const char* table, const TextEntry& entry);
void enter_batch(SQLite::Database& database, const Batch& batch);

// `unit`: only runs of it, with its channels; all where empty. By start.
[[nodiscard]] std::vector<Run> runs_in(SQLite::Database& database, const std::string& unit);
[[nodiscard]] std::vector<Unit> units_in(SQLite::Database& database);
[[nodiscard]] std::vector<SeedLot> seed_lots_in(SQLite::Database& database);
[[nodiscard]] std::vector<TextEntry> texts(SQLite::Database& database, const char* table);
[[nodiscard]] std::vector<Batch> batches_in(SQLite::Database& database);

} // namespace dropledger::book
