// Places that cannot be: 0,0, blank, or a jump that no machine drives.
#pragma once

#include "analysis/field/table/drop.hpp"

#include <cstdint>
#include <vector>

namespace dropledger::field {

struct Mended {
    std::int64_t kept_out = 0; // places; their drops stand between their neighbours
    bool hopeless = false;     // fewer than two places are left
};
// Drops in order of their numbers.
[[nodiscard]] Mended mend_places(std::vector<FieldDrop>& drops, bool geographic);

[[nodiscard]] Place place_between(const FieldDrop& a, const FieldDrop& b, std::int64_t drop);

} // namespace dropledger::field
