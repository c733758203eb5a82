#include "bench/book/book.hpp"

#include "bench/book/schema.hpp"

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
    constexpr int no_database = 26; // SQLITE_NOTADB
    constexpr int corrupt = 11;     // SQLITE_CORRUPT
    constexpr int busy = 5;         // SQLITE_BUSY
    const int code = found.getErrorCode();
    if (code == no_database || code == corrupt)
        return {ErrorKind::input, file,
                fmt::format("no bench book, or a spoilt one ({})", found.what()),
                "move it aside and make it anew with dropledger book rebuild FOLDER"};
    if (code == busy)
        return {ErrorKind::device, file, "another program keeps the book locked",
                "wait for it to end, then try again"};
    return {ErrorKind::device, file, found.what(),
            "see whether the folder can be written to and has room"};
}

template <class T, class Read> Result<T> reading(const std::string& file, Read read) {
    try {
        return read();
    } catch (const SQLite::Exception& found) {
        return problem(file, found);
    }
}

template <class T>
void bind_optional(SQLite::Statement& statement, int at, const std::optional<T>& value) {
    if (value)
        statement.bind(at, *value);
    else
        statement.bind(at);
}

std::optional<double> number_or_none(const SQLite::Column& column) {
    return column.isNull() ? std::nullopt : std::optional{column.getDouble()};
}

std::optional<std::int64_t> integer_or_none(const SQLite::Column& column) {
    return column.isNull() ? std::nullopt : std::optional{column.getInt64()};
}

int as_flag(bool value) {
    return value ? 1 : 0;
}

// SQLite gives up at once where others read the file just then.
void write_ahead(SQLite::Database& database) {
    constexpr int busy = 5; // SQLITE_BUSY
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

std::set<std::string> parts_of_a_book() {
    SQLite::Database model(":memory:", SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
    model.exec(schema);
    return parts_of(model);
}

// Where the file is of another kind, or of a newer program.
std::optional<Error> refusal(const std::string& file, SQLite::Database& database) {
    const int id = database.execAndGet("PRAGMA application_id").getInt();
    const int version = database.execAndGet("PRAGMA user_version").getInt();
    if (id != application_id)
        return Error{ErrorKind::input, file, "an SQLite file, but no bench book",
                     "name another `book`"};
    if (version != schema_version)
        return Error{ErrorKind::input, file,
                     fmt::format("a bench book of version {}, this program knows {}", version,
                                 schema_version),
                     "use the newer program, or rebuild the book into another file"};
    if (parts_of(database) != parts_of_a_book())
        return Error{ErrorKind::input, file,
                     "a bench book with tables, views or triggers that are not this program's",
                     "rebuild it into another file: dropledger book rebuild FOLDER"};
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

void enter_text(SQLite::Database& database, const char* table, const TextEntry& entry) {
    SQLite::Statement insert(database,
                             fmt::format("INSERT OR REPLACE INTO {} VALUES (?, ?, ?, ?)", table));
    SQLite::bind(insert, entry.id, entry.file, entry.sha256, entry.text);
    insert.exec();
}

std::vector<TextEntry> texts(SQLite::Database& database, const char* table) {
    std::vector<TextEntry> all;
    SQLite::Statement select(
        database, fmt::format("SELECT id, file, sha256, text FROM {} ORDER BY id", table));
    while (select.executeStep())
        all.push_back(
            {select.getColumn(0), select.getColumn(1), select.getColumn(2), select.getColumn(3)});
    return all;
}

void insert_verdict(SQLite::Database& database, const std::string& run_id, const Verdict& verdict) {
    SQLite::Statement insert(database, "INSERT INTO verdict VALUES (?, ?, ?, ?, ?, ?, ?, ?)");
    insert.bind(1, run_id);
    insert.bind(2, verdict.channel);
    insert.bind(3, verdict.unit);
    bind_optional(insert, 4, verdict.row);
    insert.bind(5, verdict.gate);
    insert.bind(6, verdict.outcome);
    insert.bind(7, verdict.reason);
    insert.bind(8, verdict.drops);
    insert.exec();
    for (const Quantity& quantity : verdict.quantities) {
        SQLite::Statement one(database, "INSERT INTO quantity VALUES (?, ?, ?, ?, ?, ?, ?)");
        one.bind(1, run_id);
        one.bind(2, verdict.channel);
        one.bind(3, quantity.group);
        one.bind(4, quantity.key);
        one.bind(5, quantity.value);
        bind_optional(one, 6, quantity.low);
        bind_optional(one, 7, quantity.high);
        one.exec();
    }
}

void insert_run(SQLite::Database& database, const Run& run) {
    SQLite::Statement insert(
        database, "INSERT INTO run VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
    int at = 0;
    for (const std::string* text : {&run.run_id, &run.file, &run.sha256, &run.started, &run.bench,
                                    &run.person, &run.crop, &run.seed_lot})
        insert.bind(++at, *text);
    bind_optional(insert, ++at, run.thousand_seed_mass_mg);
    insert.bind(++at, run.mode);
    bind_optional(insert, ++at, run.speed_mps);
    insert.bind(++at, run.profile);
    insert.bind(++at, run.calibration);
    for (const bool flag : {run.complete, run.seals_intact, run.is_signed})
        insert.bind(++at, as_flag(flag));
    insert.bind(++at, run.outcome);
    insert.exec();
}

std::vector<Quantity> quantities(SQLite::Database& database, const std::string& run_id,
                                 int channel) {
    std::vector<Quantity> all;
    SQLite::Statement select(
        database,
        "SELECT part, name, value, low, high FROM quantity WHERE run_id = ? AND channel = ? "
        "ORDER BY part, name");
    SQLite::bind(select, run_id, channel);
    while (select.executeStep())
        all.push_back({select.getColumn(0), select.getColumn(1), select.getColumn(2).getDouble(),
                       number_or_none(select.getColumn(3)), number_or_none(select.getColumn(4))});
    return all;
}

// `unit`: only its channels; all where empty.
std::vector<Verdict> verdicts(SQLite::Database& database, const std::string& run_id,
                              const std::string& unit) {
    std::vector<Verdict> all;
    SQLite::Statement select(database,
                             "SELECT channel, unit, row, gate, outcome, reason, drops FROM verdict "
                             "WHERE run_id = ?1 AND (?2 = '' OR unit = ?2) ORDER BY channel");
    SQLite::bind(select, run_id, unit);
    while (select.executeStep()) {
        Verdict one;
        one.channel = select.getColumn(0);
        one.unit = select.getColumn(1).getString();
        if (const auto row = integer_or_none(select.getColumn(2)))
            one.row = static_cast<int>(*row);
        one.gate = select.getColumn(3);
        one.outcome = select.getColumn(4).getString();
        one.reason = select.getColumn(5).getString();
        one.drops = select.getColumn(6).getInt64();
        one.quantities = quantities(database, run_id, one.channel);
        all.push_back(std::move(one));
    }
    return all;
}

Run run_in(SQLite::Statement& row) {
    Run run;
    int at = 0;
    for (std::string* text : {&run.run_id, &run.file, &run.sha256, &run.started, &run.bench,
                              &run.person, &run.crop, &run.seed_lot})
        *text = row.getColumn(at++).getString();
    run.thousand_seed_mass_mg = integer_or_none(row.getColumn(at++));
    run.mode = row.getColumn(at++).getString();
    run.speed_mps = number_or_none(row.getColumn(at++));
    run.profile = row.getColumn(at++).getString();
    run.calibration = row.getColumn(at++).getString();
    for (bool* flag : {&run.complete, &run.seals_intact, &run.is_signed})
        *flag = row.getColumn(at++).getInt() != 0;
    run.outcome = row.getColumn(at).getString();
    return run;
}

std::vector<Run> runs_in(SQLite::Database& database, const std::string& unit) {
    std::vector<Run> all;
    SQLite::Statement select(
        database, "SELECT * FROM run WHERE ?1 = '' OR run_id IN (SELECT run_id FROM verdict WHERE "
                  "unit = ?1) ORDER BY started, run_id");
    select.bind(1, unit);
    while (select.executeStep()) {
        all.push_back(run_in(select));
        all.back().verdicts = verdicts(database, all.back().run_id, unit);
    }
    return all;
}

} // namespace

Book::Book(std::string file, std::unique_ptr<SQLite::Database> database)
    : file_(std::move(file)), database_(std::move(database)) {
}
Book::~Book() = default;
Book::Book(Book&&) noexcept = default;
Book& Book::operator=(Book&&) noexcept = default;

Result<Book> Book::open(const std::string& file, bool create) {
    const bool there = std::filesystem::exists(file);
    if (!there && !create)
        return Error{ErrorKind::input, file, "there is no such book",
                     "make it with dropledger book rebuild FOLDER, or book add"};
    return reading<Book>(file, [&]() -> Result<Book> {
        auto database = std::make_unique<SQLite::Database>(
            file, SQLite::OPEN_READWRITE | (create ? SQLite::OPEN_CREATE : 0), patience_ms);
        if (is_empty(*database))
            make_tables(*database);
        if (auto error = refusal(file, *database))
            return *std::move(error);
        prepare(*database);
        return Book(file, std::move(database));
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

void Book::enter(const Run& run) {
    SQLite::Statement old(*database_, "DELETE FROM run WHERE run_id = ?");
    old.bind(1, run.run_id);
    old.exec();
    insert_run(*database_, run);
    for (const Verdict& verdict : run.verdicts)
        insert_verdict(*database_, run.run_id, verdict);
}

void Book::enter_calibration(const TextEntry& record) {
    enter_text(*database_, "calibration", record);
}

void Book::enter_profile(const TextEntry& profile) {
    enter_text(*database_, "profile", profile);
}

void Book::enter(const Batch& batch) {
    SQLite::Statement insert(*database_,
                             "INSERT OR REPLACE INTO batch VALUES (?, ?, ?, ?, ?, ?, ?)");
    SQLite::bind(insert, batch.id, batch.file, batch.sha256, batch.opened, batch.lot, batch.profile,
                 batch.decision);
    insert.exec();
}

Result<std::vector<Run>> Book::runs() const {
    return runs_of({});
}

Result<std::vector<Run>> Book::runs_of(const std::string& unit) const {
    return reading<std::vector<Run>>(file_, [&] { return runs_in(*database_, unit); });
}

Result<std::vector<Unit>> Book::units() const {
    return reading<std::vector<Unit>>(file_, [&] {
        std::vector<Unit> all;
        SQLite::Statement select(*database_,
                                 "SELECT unit, runs, first, last, last_outcome FROM unit");
        while (select.executeStep())
            all.push_back({select.getColumn(0), select.getColumn(1).getInt64(), select.getColumn(2),
                           select.getColumn(3), select.getColumn(4)});
        return all;
    });
}

Result<std::vector<SeedLot>> Book::seed_lots() const {
    return reading<std::vector<SeedLot>>(file_, [&] {
        std::vector<SeedLot> all;
        SQLite::Statement select(*database_,
                                 "SELECT lot, crop, thousand_seed_mass_mg, runs FROM seed_lot");
        while (select.executeStep())
            all.push_back({select.getColumn(0), select.getColumn(1),
                           integer_or_none(select.getColumn(2)), select.getColumn(3).getInt64()});
        return all;
    });
}

Result<std::vector<TextEntry>> Book::calibrations() const {
    return reading<std::vector<TextEntry>>(file_, [&] { return texts(*database_, "calibration"); });
}

Result<std::vector<TextEntry>> Book::profiles() const {
    return reading<std::vector<TextEntry>>(file_, [&] { return texts(*database_, "profile"); });
}

Result<std::vector<Batch>> Book::batches() const {
    return reading<std::vector<Batch>>(file_, [&] {
        std::vector<Batch> all;
        SQLite::Statement select(
            *database_, "SELECT id, file, sha256, opened, lot, profile, decision FROM batch "
                        "ORDER BY opened, id");
        while (select.executeStep())
            all.push_back({select.getColumn(0), select.getColumn(1), select.getColumn(2),
                           select.getColumn(3), select.getColumn(4).getInt64(), select.getColumn(5),
                           select.getColumn(6)});
        return all;
    });
}

std::string path_in(const Book& book, const std::string& name) {
    return (std::filesystem::absolute(book.file()).parent_path() / name)
        .lexically_normal()
        .string();
}

} // namespace dropledger::book
