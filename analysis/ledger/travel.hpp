// Travel position X(t) and speed v(t) from the `travel` lines: linear between them, and beyond the
// ends by the piece that is nearest. At a line's own instant the piece that begins there holds; the
// landing place is rounded to the micrometre once, at the end.
//
// Assumes: knots come in time order. Places are counted in the direction of travel (see Course).
// Units: µm and µs.
// Undefined when: there is no knot at all (no place), or only one and no nominal speed.
#pragma once

#include "analysis/base/ring.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::ledger {

struct Knot {
    std::int64_t time_us = 0;
    std::int64_t position_um = 0;
};

class Travel {
public:
    explicit Travel(std::optional<std::int64_t> nominal_speed_um_s)
        : nominal_speed_um_s_(nominal_speed_um_s) {}

    void add(std::int64_t time_us, std::int64_t position_um);
    void restart() { knots_.clear(); }
    [[nodiscard]] bool has_piece() const { return knots_.size() > 1; }

    // X(t) + v(t)·fall, rounded to the nearest µm.
    [[nodiscard]] std::optional<std::int64_t> landing_um(std::int64_t time_us,
                                                         std::int64_t fall_us) const;
    [[nodiscard]] std::optional<std::int64_t> newest_us() const;

    // Forgets the pieces that end before this time.
    void forget_before(std::int64_t time_us);
    // A further knot; what the newest one so far has settled is forgotten.
    void follow(const Knot& knot);

private:
    [[nodiscard]] std::size_t piece_holding(std::int64_t time_us) const;

    std::optional<std::int64_t> nominal_speed_um_s_;
    Ring<Knot> knots_;
};

// round(a·b / c) for c > 0, halves away from zero.
[[nodiscard]] std::int64_t multiply_divide(std::int64_t a, std::int64_t b, std::int64_t c);

} // namespace dropledger::ledger
