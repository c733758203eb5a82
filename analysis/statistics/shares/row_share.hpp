// Interval of a share whose hits may come in rows: a two-state Markov chain, entry by entry.
//
// Assumes: a row of hits starts with one chance wherever none is running, and ends with one chance
// after every hit of it; both are the same all along. Where no hit follows another, nothing in the
// run speaks for rows, and the interval is Clopper-Pearson's: that rows exist which did not occur
// is excluded by assumption.
// How: share = a·m/(1 + a·m), a the chance of a start, m = 1/b the mean length of a row, b the
// chance of an end. a and b are independent a posteriori, beta each; a limit is the quantile of the
// share under their law. The upper limit's priors stretch towards more and longer rows, the lower
// limit's towards fewer, as Clopper and Pearson's two do. Fewer events than `fewest_rows` (rows,
// and long ones several times: rows.hpp) say too little of how often they start: then the lower
// limit is 0.
// Undefined when: no entries: no estimate.
// Source: beta posteriors of a Markov chain (Martin 1967; from memory); analysis/measures/README.md
// has the measured coverage, by which the priors were chosen.
#pragma once

#include "analysis/base/units.hpp"
#include "analysis/statistics/basics/estimate.hpp"
#include "analysis/statistics/shares/rows.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::statistics {

constexpr std::int64_t fewest_rows = 3;

// `crowding`: variance of the starts in blocks of the run over the binomial one, where it is
// beyond chance; 1 otherwise.
[[nodiscard]] std::optional<Estimate> row_share(const RowCounts& counts, double crowding,
                                                Confidence confidence);

// Rows of which only three hits count at most, as ISO 7256-1 does: of `starts_from` entries that
// are no hits, so many were followed by rows of one, two, three or more.
struct CappedRows {
    std::int64_t starts_from = 0;
    std::int64_t of_one = 0;
    std::int64_t of_two = 0;
    std::int64_t of_more = 0;

    [[nodiscard]] std::int64_t rows() const { return of_one + of_two + of_more; }
    [[nodiscard]] std::int64_t hits() const { return of_one + 2 * of_two + 3 * of_more; }
};
// hits/(starts_from + hits)
[[nodiscard]] std::optional<Estimate> capped_row_share(const CappedRows& counts, double crowding,
                                                       Confidence confidence);

// What two shares leave of 1, with an interval from theirs: the limits' own distances in quadrature
// (Zou & Donner 2008, Stat. Med. 27:1693; from memory), or in full, where one of them rests on so
// few rows that its limits are no spread of anything. Held inside 0 … 1.
enum class Sum : std::uint8_t { in_quadrature, in_full };
[[nodiscard]] Estimate rest_of_one(const Estimate& first, const Estimate& second,
                                   Sum sum = Sum::in_quadrature);
// The interval of a product of two shares, in the same way on the log scale; both have intervals.
[[nodiscard]] Interval product_of(const Estimate& first, const Estimate& second,
                                  Sum sum = Sum::in_quadrature);

} // namespace dropledger::statistics
