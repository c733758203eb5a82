// Counting a quadrature encoder: two square waves a quarter apart, four counts a line.
//
// Assumes: called at every change. Between two calls at most one wave has changed; where both have,
// nobody knows which way it went, and `skipped` says so.
#pragma once

#include <stdint.h>

namespace dropledger {
namespace controller {

constexpr int8_t skipped = 2;

// +1, -1, 0 or `skipped`; bit 0 is wave A, bit 1 wave B. Forwards A leads: 00 01 11 10.
[[nodiscard]] inline int8_t quadrature_step(uint8_t before, uint8_t now) {
    const auto changed = static_cast<uint8_t>((before ^ now) & 3U);
    if (changed == 0)
        return 0;
    if (changed == 3)
        return skipped;
    // Forwards, A changes where the two were equal and B where they differed.
    const bool differed = ((before ^ static_cast<uint8_t>(before >> 1)) & 1U) != 0;
    return differed == (changed == 2) ? int8_t{1} : int8_t{-1};
}

} // namespace controller
} // namespace dropledger
