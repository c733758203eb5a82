// A book that version 0.1.0 made (fixtures/released/0.1.0) in the hands of this program.
#include "a_workshop.hpp"

#include "analysis/base/version.hpp"

#include <SQLiteCpp/SQLiteCpp.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <thread>

namespace dropledger::book {
namespace {

namespace fs = std::filesystem;

constexpr const char* of_version_0_1 = DROPLEDGER_FIXTURES "/released/0.1.0/logs/bench.book";

int version_in(const std::string& file) {
    SQLite::Database database(file, SQLite::OPEN_READWRITE);
    return database.execAndGet("PRAGMA user_version").getInt();
}

// Every row of every table, read without any code of the book's.
std::string rows_of(const std::string& file) {
    SQLite::Database database(file, SQLite::OPEN_READWRITE);
    std::string rows;
    for (const char* table : {"run", "verdict", "quantity", "calibration", "profile", "batch"}) {
        SQLite::Statement select(database,
                                 std::string("SELECT * FROM ") + table + " ORDER BY 1, 2, 3, 4");
        while (select.executeStep()) {
            for (int i = 0; i < select.getColumnCount(); ++i)
                if (std::string(select.getColumnName(i)) != "judged_by")
                    rows += select.getColumn(i).getString() + "|";
            rows += "\n";
        }
    }
    return rows;
}

class OlderBook : public testing::Test {
protected:
    OlderBook() { fs::copy_file(of_version_0_1, file); }

    Workshop shop;
    std::string file = shop.path("old.book");
    std::string copy = file + ".schema-1";
};

TEST_F(OlderBook, IsBroughtUpToDateWithEveryRowAndACopyIsKept) {
    ASSERT_EQ(version_in(file), 1);
    const std::string before = rows_of(file);
    ASSERT_GT(before.size(), 1000U);
    {
        const auto book = Book::open(file, false);
        ASSERT_TRUE(book) << book.error().message();
        EXPECT_EQ(book->kept_copy(), copy);
        ASSERT_EQ(book->runs().value().size(), 6U);
        const auto runs = book->runs().value(); // outlives the loop
        for (const book::Run& run : runs)
            EXPECT_EQ(run.judged_by, "") << run.file;
        EXPECT_EQ(book->units().value().size(), 4U);
    }
    EXPECT_EQ(version_in(file), 2);
    EXPECT_EQ(rows_of(file), before);
    EXPECT_EQ(version_in(copy), 1);
    EXPECT_EQ(rows_of(copy), before);
    EXPECT_FALSE(fs::exists(copy + ".part"));
}

TEST_F(OlderBook, IsBroughtUpToDateOnce) {
    ASSERT_TRUE(Book::open(file, false));
    const auto again = Book::open(file, false);
    ASSERT_TRUE(again);
    EXPECT_EQ(again->kept_copy(), std::nullopt);
    EXPECT_FALSE(fs::exists(copy + ".2"));
}

TEST_F(OlderBook, TakesRunsThatAreJudgedByThisVersion) {
    auto book = Book::open(file, false);
    ASSERT_TRUE(book);
    ASSERT_TRUE(add(*book, {shop.log("a.droplog", "healthy", 1)}, judged_small()));
    std::map<std::string, std::string> judged_by;
    const auto runs = book->runs().value(); // outlives the loop
    for (const book::Run& run : runs)
        judged_by[run.file] = run.judged_by;
    EXPECT_EQ(judged_by.size(), 7U);
    EXPECT_EQ(judged_by["a.droplog"], version());
    EXPECT_EQ(judged_by["gate0.droplog"], "");
}

TEST_F(OlderBook, WritesOverNoEarlierCopy) {
    shop.file("old.book.schema-1", "kept before");
    const auto book = Book::open(file, false);
    ASSERT_TRUE(book);
    EXPECT_EQ(book->kept_copy(), copy + ".2");
    EXPECT_EQ(files::content_of(copy), "kept before");
}

TEST_F(OlderBook, StaysAsItIsWhereNoCopyCanBeKept) {
    fs::create_directories(copy + ".part/in-the-way");
    const std::string before = rows_of(file);
    const auto book = Book::open(file, false);
    ASSERT_FALSE(book);
    EXPECT_NE(book.error().what.find("copy to be kept"), std::string::npos)
        << book.error().message();
    EXPECT_EQ(version_in(file), 1);
    EXPECT_EQ(rows_of(file), before);
}

TEST_F(OlderBook, StaysAsItIsWhereARowBelongsToNoRun) {
    {
        SQLite::Database database(file, SQLite::OPEN_READWRITE);
        database.exec("INSERT INTO verdict VALUES ('nobody', 0, 'U-1', 1, 0, 'within', '', 3)");
    }
    const std::string before = rows_of(file);
    const auto book = Book::open(file, false);
    ASSERT_FALSE(book);
    EXPECT_EQ(book.error().kind, ErrorKind::input);
    EXPECT_EQ(version_in(file), 1);
    EXPECT_EQ(rows_of(file), before);
}

TEST_F(OlderBook, WithForeignPartsIsRefusedAndNotTouched) {
    {
        SQLite::Database database(file, SQLite::OPEN_READWRITE);
        database.exec("CREATE VIEW more AS SELECT * FROM run");
    }
    const auto book = Book::open(file, false);
    ASSERT_FALSE(book);
    EXPECT_NE(book.error().what.find("not this program's"), std::string::npos);
    EXPECT_EQ(version_in(file), 1);
    EXPECT_FALSE(fs::exists(copy));
}

TEST_F(OlderBook, OpenedByManyAtOnceIsCopiedOnce) {
    constexpr std::size_t many = 8;
    const std::string before = rows_of(file);
    std::vector<std::thread> openers;
    std::vector<std::string> said(many);
    for (std::size_t i = 0; i < many; ++i)
        openers.emplace_back([&, i] {
            const auto book = Book::open(file, false);
            said[i] = book ? "" : book.error().message();
        });
    for (std::thread& one : openers)
        one.join();
    EXPECT_EQ(said, std::vector<std::string>(many));
    EXPECT_EQ(rows_of(file), before);
    EXPECT_TRUE(fs::exists(copy));
    EXPECT_FALSE(fs::exists(copy + ".2"));
}

} // namespace
} // namespace dropledger::book
