#include "bench/book/migration.hpp"

#include "bench/book/older_schemas.hpp"
#include "bench/book/schema.hpp"
#include "bench/book/sqlite_codes.hpp"

#include <SQLiteCpp/Backup.h>
#include <SQLiteCpp/SQLiteCpp.h>
#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <vector>

namespace dropledger::book {

namespace fs = std::filesystem;

namespace {

int version_of(SQLite::Database& database) {
    return database.execAndGet("PRAGMA user_version").getInt();
}

const OlderSchema* older_schema(int version) {
    const auto* const found =
        std::find_if(std::begin(older_schemas), std::end(older_schemas),
                     [&](const OlderSchema& one) { return one.version == version; });
    return found == std::end(older_schemas) ? nullptr : found;
}

std::string free_name(const std::string& file, int version) {
    const std::string first = fmt::format("{}.schema-{}", file, version);
    std::string name = first;
    for (int number = 2; fs::exists(fs::symlink_status(name)); ++number)
        name = fmt::format("{}.{}", first, number);
    return name;
}

// Whole or not there. Readers may look while the caller holds the right to write.
std::string copy_of(const std::string& file, int version) {
    const std::string name = free_name(file, version);
    const std::string unfinished = name + ".part";
    fs::remove(unfinished);
    {
        SQLite::Database source(file, SQLite::OPEN_READONLY);
        SQLite::Database target(unfinished, SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
        SQLite::Backup copying(target, source);
        copying.executeStep(); // every page, then synced
    }
    fs::permissions(unfinished, fs::status(file).permissions());
    fs::rename(unfinished, name);
    return name;
}

std::vector<std::string> names_of(SQLite::Database& database, const char* type) {
    std::vector<std::string> names;
    SQLite::Statement select(database, "SELECT name FROM main.sqlite_master WHERE type = ? AND "
                                       "name NOT LIKE 'sqlite~_%' ESCAPE '~'");
    select.bind(1, type);
    while (select.executeStep())
        names.push_back(select.getColumn(0).getString());
    return names;
}

int rows_in(SQLite::Database& database, const std::string& table) {
    return database.execAndGet("SELECT count(*) FROM " + table).getInt();
}

void check_carried(SQLite::Database& database, const std::vector<std::string>& tables) {
    for (const std::string& table : tables)
        if (rows_in(database, "main." + table) != rows_in(database, "temp.old_" + table))
            throw SQLite::Exception(fmt::format("not every row of {} could be carried over", table),
                                    corrupt);
    SQLite::Statement strays(database, "PRAGMA foreign_key_check");
    if (strays.executeStep())
        throw SQLite::Exception("it has rows that belong to no run", corrupt);
}

void carry_over(SQLite::Database& database, const OlderSchema& from) {
    const std::vector<std::string> tables = names_of(database, "table");
    for (const std::string& view : names_of(database, "view"))
        database.exec("DROP VIEW main." + view);
    for (const std::string& table : tables) {
        database.exec(fmt::format("CREATE TEMP TABLE old_{0} AS SELECT * FROM main.{0}", table));
        database.exec("DROP TABLE main." + table);
    }
    database.exec(schema);
    database.exec(from.carry);
    check_carried(database, tables);
    for (const std::string& table : tables)
        database.exec("DROP TABLE temp.old_" + table);
    database.exec(fmt::format("PRAGMA user_version = {}", schema_version));
}

} // namespace

const char* schema_of(int version) {
    if (version == schema_version)
        return schema;
    const OlderSchema* const older = older_schema(version);
    return older == nullptr ? nullptr : older->text;
}

std::optional<std::string> migrate(SQLite::Database& database, const std::string& file) {
    if (version_of(database) == schema_version)
        return std::nullopt;
    SQLite::Transaction carrying(database, SQLite::TransactionBehavior::IMMEDIATE);
    const OlderSchema* const from = older_schema(version_of(database));
    if (from == nullptr) // another program was first
        return std::nullopt;
    try {
        std::string copy = copy_of(file, from->version);
        carry_over(database, *from);
        carrying.commit();
        return copy;
    } catch (const fs::filesystem_error& found) {
        throw SQLite::Exception(fmt::format("the copy to be kept: {}", found.code().message()),
                                io_error);
    }
}

} // namespace dropledger::book
