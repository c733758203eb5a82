// Drops of which the table has no row, by the numbers that lack within a pass of a row.
//
// Numbers lack, too, where no drop does: a counter that several rows share, that jumps, or that begins
// anew. So the ground is asked: a drop is lost only where the machine drove on by its room, going on
// as at the drops beside it. Whether one was commanded there nobody can tell.
// Assumes: drops in order of their numbers. Units: metres.
#pragma once

#include "analysis/field/table/drop.hpp"

#include <cstdint>
#include <optional>
#include <span>

namespace dropledger::field {

struct Lacking {
    std::int64_t lost = 0; // by the steps beside them
    // Where no number near by follows on another: only the other rows can tell.
    std::int64_t open = 0;
    std::int64_t open_holes = 0;
    double open_m = 0.0;          // from before each hole to behind it
    std::optional<double> step_m; // usual, from a drop to the one whose number follows on it
};
[[nodiscard]] Lacking lacking_in(std::span<const FieldDrop> drops, bool geographic);

// `usual_m`: of all rows; unknown: the numbers are believed.
[[nodiscard]] std::int64_t lost_of(const Lacking& lacking, std::optional<double> usual_m);

} // namespace dropledger::field
