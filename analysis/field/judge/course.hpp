// One row's night: its passes in the order in which they were driven, silent or not at each drop,
// and the drops that stand apart because of where they are in a pass or on the metering disc.
//
// Standing apart: the first drops of the passes, where most passes begin silent (start loss), and
// the drops at one residue of the drop number, where silence gathers (a bad cell). A gate knows
// nothing of either. Assumes: a drop number that lacks is not known and passed over.
// Undefined when: fewer than four passes: no start loss is looked for.
#pragma once

#include "analysis/field/input/drops.hpp"

#include <cstdint>
#include <optional>
#include <vector>

namespace dropledger::field {

enum class Apart : std::uint8_t { no, start, cell };

struct PassCourse {
    LineKey key;
    bool blocked = false; // its gate reported itself blocked
    double begins_s = 0.0;
    std::vector<std::uint8_t> silent; // 1 = nothing was seen
    std::vector<std::int32_t> drop;   // its number, from the pass's first
    std::vector<Apart> apart;         // empty: none
    std::int64_t first_drop = 0;

    [[nodiscard]] std::size_t size() const { return silent.size(); }
    [[nodiscard]] Apart apart_at(std::size_t i) const {
        return apart.empty() ? Apart::no : apart[i];
    }
};

struct StartLoss {
    std::int64_t drops = 0;  // of each pass
    std::int64_t silent = 0; // in all passes, of …
    std::int64_t drops_looked_at = 0;
    std::int64_t passes_begun_silent = 0;
    std::int64_t passes = 0;
    double p_value = 1.0;
};

struct BadCell {
    std::int64_t cells = 0;
    std::int64_t hits = 0; // silent at the cell, of …
    std::int64_t drops = 0;
    std::int64_t passes = 0; // in which it shows
    double p_value = 1.0;
    LineKey shows_best;
    std::int64_t residue = 0; // of the drop number, there
};

struct Course {
    std::int64_t row = 0;
    std::vector<PassCourse> passes;
    std::int64_t drops = 0;
    std::int64_t silent = 0;
    std::optional<StartLoss> start_loss;
    std::optional<BadCell> bad_cell;
    std::vector<std::pair<std::uint32_t, std::int64_t>> targets; // seeds commanded, drops so
};

// The lines of one row.
[[nodiscard]] Course course_of(const Field& field, const std::vector<LineKey>& lines);

// By row, in no order.
[[nodiscard]] std::map<std::int64_t, std::vector<LineKey>> lines_by_row(const Field& field);

} // namespace dropledger::field
