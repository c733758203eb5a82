// The registration offset b: how far landings lie from their commanded positions, in common.
//
// Assumes: drops repeat with one spacing, so b is known only up to a whole spacing; the value
// nearest to 0 is taken. More than half of the landings belong to a drop.
// How: residuals to the nearest commanded position lie on a circle of one spacing; the shortest arc
// that holds half of them gives the centre, and the median of the residuals about that centre is b.
// Neither misses nor multiples, debris or strays up to almost half of the landings move it far.
// Undefined when: not identified; then the offset is only what entries were made up by. The scatter
// is the circular standard deviation, spacing/2π · sqrt(−2 ln R), with R the mean resultant length
// (Mardia & Jupp, Directional Statistics, 2000, section 2.3; from memory).
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

namespace dropledger::ledger {

enum class Identified : std::uint8_t {
    yes,
    no_landings,    // none lies within half a spacing of a drop
    few_landings,   // landings spread evenly over all spacings would crowd as much once in a 1000
    scattered,      // by a sixth of the spacing or more
    half_a_spacing, // the offset is that of the next drop as well, within its uncertainty
};

struct IdentifiedRow {
    Identified identified;
    std::string_view key;
    std::string_view words; // why not; goes on after "the offset is not identified: "
};
[[nodiscard]] const IdentifiedRow& row_of(Identified identified);

struct Registration {
    std::int64_t offset_um = 0;
    Identified identified = Identified::no_landings;
    std::int64_t scatter_um = 0; // of landings about it; one spacing where they crowd nowhere
    std::size_t landings = 0;    // that it was found from
};

// `residuals_um`: landing − nearest commanded position, each within half a spacing; in any order.
[[nodiscard]] Registration registration(std::vector<std::int64_t> residuals_um,
                                        std::int64_t spacing_um);

// Residuals of landings to the nearest of the drops; both sorted. Landings beyond the ends by more
// than half a spacing give none.
[[nodiscard]] std::vector<std::int64_t> residuals_um(std::span<const std::int64_t> landings_um,
                                                     std::span<const std::int64_t> drops_um,
                                                     std::int64_t spacing_um);

} // namespace dropledger::ledger
