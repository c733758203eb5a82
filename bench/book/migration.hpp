// Books of earlier versions: known by their schema, brought up to the present one, a copy kept.
//
// Throws SQLite::Exception, as the library does.
#pragma once

#include <optional>
#include <string>

namespace SQLite {
class Database;
}

namespace dropledger::book {

// The tables and views of a book of that version (user_version); null where this program knows no such.
[[nodiscard]] const char* schema_of(int version);

// Copies the book as it is to FILE.schema-N, then carries every row over in one transaction: a kill leaves the old book,
// or the new one and the copy. Nothing that is there is written over: a further copy is FILE.schema-N.2. Gives the copy's
// name; none where another program had done it meanwhile.
// Assumes: the parts of the book are those of schema_of its version; foreign keys are not looked at yet.
[[nodiscard]] std::optional<std::string> migrate(SQLite::Database& database,
                                                 const std::string& file);

} // namespace dropledger::book
