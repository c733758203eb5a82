// What was found where someone dug: seed or none, at drops of a pass and row.
//
// A table: columns pass, row, first_drop, last_drop, found; found is none (no seed lies there) or
// seed, or how many seeds were found. A stop of the walking list with the last column filled in is
// one.
#pragma once

#include "analysis/field/input/drops.hpp"

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::field {

struct Finding {
    std::int64_t pass = 0;
    std::int64_t row = 0;
    std::int64_t first_drop = 0;
    std::int64_t last_drop = 0; // included
    std::int64_t seeds = 0;     // found there; 0: none
    bool some = false;          // some seeds, not counted

    [[nodiscard]] bool is_missing() const { return seeds == 0 && !some; }
};
using Findings = std::vector<Finding>;

// Whether it says what was found: none, seed, a count; in capitals or not.
[[nodiscard]] bool is_finding(std::string_view text);

// Rows and passes are named as the field names them. Rows whose last column is blank were not dug.
[[nodiscard]] Result<Findings> read_findings(ByteSource& source, const std::string& file,
                                             const Field& field);

} // namespace dropledger::field
