#include "analysis/statistics/shares/rows.hpp"

#include "analysis/statistics/shares/independence.hpp"

#include <gtest/gtest.h>

#include <string>
#include <string_view>

using namespace dropledger::statistics;

namespace {

RowCounts rows_of(std::string_view entries) {
    RunCounter counter;
    for (const char entry : entries)
        counter.add(entry == 'x');
    return counter.rows();
}

} // namespace

TEST(Rows, AreCountedWithTheRunsEnds) {
    const RowCounts seen = rows_of("xx..x...xxx");
    EXPECT_EQ(seen.entries, 11);
    EXPECT_EQ(seen.hits, 6);
    EXPECT_EQ(seen.rows, 3);
    EXPECT_TRUE(seen.begins_in_row);
    EXPECT_TRUE(seen.ends_in_row);
    EXPECT_EQ(rows_of(".x.").rows, 1);
    EXPECT_EQ(rows_of("...").rows, 0);
    EXPECT_EQ(rows_of("xxx").rows, 1);
    EXPECT_EQ(rows_of("").entries, 0);
}

TEST(Rows, OfTheOthersAreThoseOfTheTurnedRun) {
    for (const std::string_view entries : {"xx..x...xxx", ".x.", "x..", "..x", "xxx", "..."}) {
        std::string turned;
        for (const char entry : entries)
            turned += entry == 'x' ? '.' : 'x';
        const RowCounts others = rows_of(entries).others();
        const RowCounts expected = rows_of(turned);
        EXPECT_EQ(others.hits, expected.hits) << entries;
        EXPECT_EQ(others.rows, expected.rows) << entries;
        EXPECT_EQ(others.ends_in_row, expected.ends_in_row) << entries;
    }
}

TEST(Rows, OneThatGoesOnIsMoreThanOneEvent) {
    EXPECT_EQ((RowCounts{.entries = 12, .hits = 4, .rows = 1}.events()), 1);
    EXPECT_EQ((RowCounts{.entries = 600, .hits = 600, .rows = 1}.events()), 12);
}

// Combinatorially, with Python's exact integers: 6 of 20 in 3 rows or fewer, in 5 or more; 5 of 500
// in 4 or fewer; 40 of 50 in 6 or fewer.
TEST(RowsTest, HasTheExactLaw) {
    EXPECT_NEAR(rows_test({20, 6, 3})->p_few, 0.13132094943240455, 1e-12);
    EXPECT_NEAR(rows_test({20, 6, 5})->p_many, 0.5165118679050568, 1e-12);
    EXPECT_NEAR(rows_test({500, 5, 4})->p_few, 0.03952096770691027, 1e-12);
    EXPECT_NEAR(rows_test({50, 40, 6})->p_few, 0.029899889967640935, 1e-12);
    EXPECT_FALSE(rows_test({50, 1, 1}));
    EXPECT_FALSE(rows_test({50, 50, 1}));
}

// Two neighbours among five misses of 500 happen on one unit in 25; the normal law of the number of
// runs (z = -4.7) calls that one in a million.
TEST(RowsTest, DoesNotCallTwoNeighboursARow) {
    EXPECT_GT(rows_test({500, 5, 4})->two_sided(), 0.05);
}

TEST(RowsTest, GoesOverIntoTheNormalLawSmoothly) {
    const RowsTest exact = *rows_test({100'000, exact_hits, 4'720});
    const RowsTest normal = *rows_test({100'020, exact_hits + 1, 4'721});
    EXPECT_NEAR(exact.p_few, normal.p_few, 0.01);
    EXPECT_NEAR(exact.p_many, normal.p_many, 0.01);
}
