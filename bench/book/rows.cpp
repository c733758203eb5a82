#include "bench/book/rows.hpp"

#include "bench/book/sqlite_codes.hpp"

#include <SQLiteCpp/SQLiteCpp.h>
#include <SQLiteCpp/VariadicBind.h>
#include <fmt/format.h>

namespace dropledger::book {

namespace {

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

// Nobody but this program writes into its tables: another word is a spoilt book.
template <class Names> auto named(const Names& names, const SQLite::Column& column) {
    const std::string word = column.getString();
    const auto value = value_named(names, word);
    if (!value)
        throw SQLite::Exception(
            fmt::format("'{}' stands where this program knows no such word", word), corrupt);
    return *value;
}

std::optional<batch::LotOutcome> decision_in(const SQLite::Column& column) {
    if (column.getString() == undecided_word)
        return std::nullopt;
    return named(batch::lot_outcome_names, column);
}

int as_flag(bool value) {
    return value ? 1 : 0;
}

void insert_verdict(SQLite::Database& database, const std::string& run_id, const Verdict& verdict) {
    SQLite::Statement insert(database, "INSERT INTO verdict VALUES (?, ?, ?, ?, ?, ?, ?, ?)");
    insert.bind(1, run_id);
    insert.bind(2, verdict.channel);
    insert.bind(3, verdict.unit);
    bind_optional(insert, 4, verdict.row);
    insert.bind(5, verdict.gate);
    insert.bind(6, std::string(name_of(verdict.outcome)));
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
        one.outcome = named(verdict::outcome_names, select.getColumn(4));
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
    run.mode = named(droplog::mode_names, row.getColumn(at++));
    run.speed_mps = number_or_none(row.getColumn(at++));
    run.profile = row.getColumn(at++).getString();
    run.calibration = row.getColumn(at++).getString();
    run.judged_by = row.getColumn(at++).getString();
    for (bool* flag : {&run.complete, &run.seals_intact, &run.is_signed})
        *flag = row.getColumn(at++).getInt() != 0;
    run.outcome = named(verdict::outcome_names, row.getColumn(at));
    return run;
}

} // namespace

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

void insert_run(SQLite::Database& database, const Run& run) {
    SQLite::Statement insert(
        database, "INSERT INTO run VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
    int at = 0;
    for (const std::string* text : {&run.run_id, &run.file, &run.sha256, &run.started, &run.bench,
                                    &run.person, &run.crop, &run.seed_lot})
        insert.bind(++at, *text);
    bind_optional(insert, ++at, run.thousand_seed_mass_mg);
    insert.bind(++at, std::string(name_of(run.mode)));
    bind_optional(insert, ++at, run.speed_mps);
    insert.bind(++at, run.profile);
    insert.bind(++at, run.calibration);
    insert.bind(++at, run.judged_by);
    for (const bool flag : {run.complete, run.seals_intact, run.is_signed})
        insert.bind(++at, as_flag(flag));
    insert.bind(++at, std::string(name_of(run.outcome)));
    insert.exec();
    for (const Verdict& verdict : run.verdicts)
        insert_verdict(database, run.run_id, verdict);
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

void enter_batch(SQLite::Database& database, const Batch& batch) {
    SQLite::Statement insert(database, "INSERT OR REPLACE INTO batch VALUES (?, ?, ?, ?, ?, ?, ?)");
    SQLite::bind(insert, batch.id, batch.file, batch.sha256, batch.opened, batch.lot, batch.profile,
                 std::string(decision_word(batch)));
    insert.exec();
}

std::vector<Unit> units_in(SQLite::Database& database) {
    std::vector<Unit> all;
    SQLite::Statement select(database, "SELECT unit, runs, first, last, last_outcome FROM unit");
    while (select.executeStep())
        all.push_back({select.getColumn(0), select.getColumn(1).getInt64(), select.getColumn(2),
                       select.getColumn(3), named(verdict::outcome_names, select.getColumn(4))});
    return all;
}

std::vector<SeedLot> seed_lots_in(SQLite::Database& database) {
    std::vector<SeedLot> all;
    SQLite::Statement select(database,
                             "SELECT lot, crop, thousand_seed_mass_mg, runs FROM seed_lot");
    while (select.executeStep())
        all.push_back({select.getColumn(0), select.getColumn(1),
                       integer_or_none(select.getColumn(2)), select.getColumn(3).getInt64()});
    return all;
}

std::vector<Batch> batches_in(SQLite::Database& database) {
    std::vector<Batch> all;
    SQLite::Statement select(database,
                             "SELECT id, file, sha256, opened, lot, profile, decision FROM batch "
                             "ORDER BY opened, id");
    while (select.executeStep())
        all.push_back({select.getColumn(0), select.getColumn(1), select.getColumn(2),
                       select.getColumn(3), select.getColumn(4).getInt64(), select.getColumn(5),
                       decision_in(select.getColumn(6))});
    return all;
}

} // namespace dropledger::book
