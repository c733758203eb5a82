// Rows: how often hits (misses, say) follow each other without a break, and whether by more than
// chance.
//
// Undefined when: fewer than two hits, or nothing but hits: no test.
// Source: the number of rows of a random order of x hits among n entries is r in C(x−1,
// r−1)·C(n−x+1, r) of C(n, x) cases (Stevens 1939; Feller 1968, II.11), a hypergeometric law of the
// x − r hits that follow another.
#pragma once

#include <cstdint>
#include <optional>

namespace dropledger::statistics {

struct RowCounts {
    std::int64_t entries = 0;
    std::int64_t hits = 0;
    std::int64_t rows = 0; // unbroken ones of hits, of one or more
    bool begins_in_row = false;
    bool ends_in_row = false;

    // The same of all entries that are no hits.
    [[nodiscard]] RowCounts others() const;
    // No hit follows another.
    [[nodiscard]] bool isolated() const { return hits == rows; }
    // Independent events behind the hits: rows. One that goes on for ever is no accident, so it
    // counts once more for every `long_row` of hits.
    [[nodiscard]] std::int64_t events() const;

    static constexpr std::int64_t long_row = 50;
};

struct RowsTest {
    double p_few = 1.0;  // P(so few rows or fewer): hits come in rows
    double p_many = 1.0; // P(so many or more): hits keep apart
    [[nodiscard]] double two_sided() const;
};
// Exact; the normal limit above `exact_hits` hits.
[[nodiscard]] std::optional<RowsTest> rows_test(const RowCounts& counts);

constexpr std::int64_t exact_hits = 5'000;

} // namespace dropledger::statistics
