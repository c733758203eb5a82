// The run drop by drop: rows of drops in which every miss and multiple has a mark of its own shape,
// place and words; and the same summed up in bars for a run too long for that, or for one line of
// an overview.
//
// Undefined when: no drop was commanded: empty strings.
#pragma once

#include "analysis/ledger/setup.hpp"
#include "analysis/measures/trace.hpp"

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>

namespace dropledger::report::pictures {

struct StripStyle {
    ledger::Mode mode = ledger::Mode::single;
    std::string prefix; // keeps ids of channels apart
    // Of the metering disc: rows are whole turns, so that a cell is a column
    std::optional<int> cells;
    [[nodiscard]] std::size_t drops_per_row() const;
    [[nodiscard]] std::size_t turns_per_row() const; // 0 where rows are no turns
};

// Id of the row that holds a drop, so that a list can lead there.
[[nodiscard]] std::string row_id(const measures::Trace& trace, std::uint32_t index,
                                 const StripStyle& style);

// Only for a trace of one drop a point.
[[nodiscard]] std::string drop_strip(const measures::Trace& trace, const StripStyle& style);
// What the marks of the strip mean, as drawn and in words.
[[nodiscard]] std::string strip_legend(ledger::Mode mode);

// Multiples up, misses down, summed up in steps along the run.
[[nodiscard]] std::string incident_bars(const measures::Trace& trace, ledger::Mode mode);
// `most`: the count that fills the height, the same for all strips that stand side by side: the
// greatest tallest_inline_bar() of them.
[[nodiscard]] std::string inline_bars(const measures::Trace& trace, double most);
[[nodiscard]] double tallest_inline_bar(const measures::Trace& trace); // at least 1

} // namespace dropledger::report::pictures
