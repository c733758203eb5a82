// The registration offset b: how far landings lie from their commanded positions, in common.
//
// Assumes: drops repeat with one spacing, so b is known only up to a whole spacing; the value
// nearest to 0 is taken. More than half of the landings belong to a drop. Undefined when: no
// landing lies within half a spacing of a drop; then 0. How: residuals to the nearest commanded
// position lie on a circle of one spacing; the shortest arc that holds half of them gives the
// centre, and the median of the residuals about that centre is b. Neither misses nor multiples,
// debris or strays up to almost half of the landings move it far.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

namespace dropledger::ledger {

// `residuals_um`: landing − nearest commanded position, each within half a spacing; in any order.
[[nodiscard]] std::int64_t registration_um(std::vector<std::int64_t> residuals_um,
                                           std::int64_t spacing_um);

// Residuals of landings to the nearest of the drops; both sorted. Landings beyond the ends by more
// than half a spacing give none.
[[nodiscard]] std::vector<std::int64_t> residuals_um(std::span<const std::int64_t> landings_um,
                                                     std::span<const std::int64_t> drops_um,
                                                     std::int64_t spacing_um);

} // namespace dropledger::ledger
