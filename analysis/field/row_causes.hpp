// What may be wrong with one row, from what it shows: each trace with its evidence, and all causes
// that leave the same one.
#pragma once

#include "analysis/field/audit.hpp"

#include <vector>

namespace dropledger::field {

// From lasting silences: by their trace (judge/episode.hpp).
[[nodiscard]] std::vector<FieldCause> episode_causes(const RowReport& row);

// From the drops between them: starts, cells, doubles, change in the night, speed, how often.
struct Others {                // the rows beside it
    double silent_share = 0.0; // median
    double doubles_share = 0.0;
    bool any = false;
};
[[nodiscard]] std::vector<FieldCause> pattern_causes(const FieldAudit& audit, const RowReport& row,
                                                     const Others& others);

} // namespace dropledger::field
