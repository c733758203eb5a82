#include "bench/book/book.hpp"

#include "bench/book/migration.hpp"
#include "bench/book/rows.hpp"
#include "bench/book/schema.hpp"
#include "bench/book/sqlite_codes.hpp"

#include <SQLiteCpp/SQLiteCpp.h>
#include <SQLiteCpp/VariadicBind.h>
#include <fmt/format.h>

#include <chrono>
#include <filesystem>
#include <set>
#include <thread>

namespace dropledger::book {

namespace {

constexpr int patience_ms = 60'000; // where another program is writing: it may be judging logs

Error problem(const std::string& file, const SQLite::Exception& found) {
    const int code = found.getErrorCode();
    if (code == no_database || code == corrupt)
        return input_error(file, fmt::format("no bench book, or a spoilt one ({})", found.what()),
                           "move it aside and make it anew with dropledger book rebuild FOLDER");
    if (code == busy)
        return device_error(file, "another program keeps the book locked",
                            "wait for it to end, then try again");
    return device_error(file, found.what(),
                        "see whether the folder can be written to and has room");
}

template <class T, class Read> Result<T> reading(const std::string& file, Read read) {
    try {
        return read();
    } catch (const SQLite::Exception& found) {
        return problem(file, found);
    }
}

// SQLite gives up at once where others read the file just then.
void write_ahead(SQLite::Database& database) {
    constexpr int pause_ms = 10;
    for (int waited_ms = 0;; waited_ms += pause_ms)
        try {
            database.exec("PRAGMA journal_mode = WAL");
            return;
        } catch (const SQLite::Exception& found) {
            if (found.getErrorCode() != busy || waited_ms >= patience_ms)
                throw;
            std::this_thread::sleep_for(std::chrono::milliseconds{pause_ms});
        }
}

void prepare(SQLite::Database& database) {
    database.exec("PRAGMA foreign_keys = ON");
    database.exec("PRAGMA trusted_schema = OFF");
    write_ahead(database);
    database.exec("PRAGMA synchronous = FULL");
}

bool is_empty(SQLite::Database& database) {
    return database.execAndGet("SELECT count(*) FROM sqlite_master").getInt() == 0;
}

// Every table, index, view and trigger as it was made, white space aside; not what SQLite keeps for
// itself.
std::set<std::string> parts_of(SQLite::Database& database) {
    std::set<std::string> parts;
    SQLite::Statement select(database,
                             "SELECT type || ' ' || name || ': ' || sql FROM sqlite_master WHERE "
                             "sql IS NOT NULL AND name NOT IN ('sqlite_stat1', 'sqlite_stat4')");
    while (select.executeStep()) {
        std::string part = select.getColumn(0).getString();
        std::erase_if(part, [](char c) { return c == ' ' || c == '\n' || c == '\t' || c == '\r'; });
        parts.insert(std::move(part));
    }
    return parts;
}

std::set<std::string> parts_of_a_book(const char* text) {
    SQLite::Database model(":memory:", SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
    model.exec(text);
    return parts_of(model);
}

// Where the file is of another kind, or of a newer program.
std::optional<Error> refusal(const std::string& file, SQLite::Database& database) {
    const SQLite::Transaction looking(database); // version and parts of one moment
    const int id = database.execAndGet("PRAGMA application_id").getInt();
    const int version = database.execAndGet("PRAGMA user_version").getInt();
    if (id != application_id)
        return input_error(file, "an SQLite file, but no bench book", "name another `book`");
    const char* const text = schema_of(version);
    if (text == nullptr)
        return input_error(file,
                           fmt::format("a bench book of version {}, this program knows {}", version,
                                       schema_version),
                           "use the newer program, or rebuild the book into another file");
    if (parts_of(database) != parts_of_a_book(text))
        return input_error(
            file, "a bench book with tables, views or triggers that are not this program's",
            "rebuild it into another file: dropledger book rebuild FOLDER");
    return std::nullopt;
}

void make_tables(SQLite::Database& database) {
    SQLite::Transaction making(database, SQLite::TransactionBehavior::IMMEDIATE);
    if (is_empty(database)) { // else another program has made them meanwhile
        database.exec(schema);
        database.exec(fmt::format("PRAGMA application_id = {}", application_id));
        database.exec(fmt::format("PRAGMA user_version = {}", schema_version));
    }
    making.commit();
}

} // namespace

Book::Book(std::string file, std::unique_ptr<SQLite::Database> database,
           std::optional<std::string> kept_copy)
    : file_(std::move(file)), database_(std::move(database)), kept_copy_(std::move(kept_copy)) {
}
Book::~Book() = default;
Book::Book(Book&&) noexcept = default;
Book& Book::operator=(Book&&) noexcept = default;

Result<Book> Book::open(const std::string& file, bool create) {
    const bool there = std::filesystem::exists(file);
    if (!there && !create)
        return input_error(file, "there is no such book",
                           "make it with dropledger book rebuild FOLDER, or book add");
    return reading<Book>(file, [&]() -> Result<Book> {
        auto database = std::make_unique<SQLite::Database>(
            file, SQLite::OPEN_READWRITE | (create ? SQLite::OPEN_CREATE : 0), patience_ms);
        if (is_empty(*database))
            make_tables(*database);
        if (auto error = refusal(file, *database))
            return *std::move(error);
        auto kept_copy = migrate(*database, file);
        prepare(*database);
        return Book(file, std::move(database), std::move(kept_copy));
    });
}

Status Book::change(const std::function<Status(Book&)>& steps) {
    return reading<Done>(file_, [&]() -> Status {
        SQLite::Transaction changing(*database_, SQLite::TransactionBehavior::IMMEDIATE);
        if (Status done = steps(*this); !done)
            return done;
        changing.commit();
        return Done{};
    });
}

void Book::clear() {
    for (const char* table : {"run", "calibration", "profile", "batch"})
        database_->exec(fmt::format("DELETE FROM {}", table));
}

void Book::remove_run(const std::string& run_id) {
    SQLite::Statement old(*database_, "DELETE FROM run WHERE run_id = ?");
    old.bind(1, run_id);
    old.exec();
}

void Book::enter(const Run& run) {
    remove_run(run.run_id);
    insert_run(*database_, run);
}

void Book::enter_calibration(const TextEntry& record) {
    enter_text(*database_, "calibration", record);
}

void Book::enter_profile(const TextEntry& profile) {
    enter_text(*database_, "profile", profile);
}

void Book::enter(const Batch& batch) {
    enter_batch(*database_, batch);
}

Result<std::vector<Run>> Book::runs() const {
    return runs_of({});
}

Result<std::vector<Run>> Book::runs_of(const std::string& unit) const {
    return reading<std::vector<Run>>(file_, [&] { return runs_in(*database_, unit); });
}

Result<std::vector<Unit>> Book::units() const {
    return reading<std::vector<Unit>>(file_, [&] { return units_in(*database_); });
}

Result<std::vector<SeedLot>> Book::seed_lots() const {
    return reading<std::vector<SeedLot>>(file_, [&] { return seed_lots_in(*database_); });
}

Result<std::vector<TextEntry>> Book::calibrations() const {
    return reading<std::vector<TextEntry>>(file_, [&] { return texts(*database_, "calibration"); });
}

Result<std::vector<TextEntry>> Book::profiles() const {
    return reading<std::vector<TextEntry>>(file_, [&] { return texts(*database_, "profile"); });
}

Result<std::vector<Batch>> Book::batches() const {
    return reading<std::vector<Batch>>(file_, [&] { return batches_in(*database_); });
}

std::string path_in(const Book& book, const std::string& name) {
    return (std::filesystem::absolute(book.file()).parent_path() / name)
        .lexically_normal()
        .string();
}

} // namespace dropledger::book
