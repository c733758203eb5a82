// Where the machine was at any time of a capture, from an encoder, from one pulse a length, or by a
// stated speed.
//
// Units: picoseconds, micrometres since the beginning. Linear between steps; before the first step
// and after the last one it stands where it was (a stated speed never stops).
// Assumes: steps come in order; a time before what was forgotten is not asked for.
#pragma once

#include "bench/capture/wiring.hpp"

#include <cstdint>
#include <deque>

namespace dropledger::capture {

class Course {
public:
    explicit Course(const TravelWiring& wiring);

    void step(std::int64_t at_ps, double um);
    [[nodiscard]] double position_um(std::int64_t at_ps) const;
    void forget_before(std::int64_t at_ps);

private:
    struct Point {
        std::int64_t at_ps = 0;
        double um = 0.0;
    };

    double um_per_ps_ = 0.0; // of a stated speed
    std::deque<Point> points_{Point{}};
};

// An encoder's count at an edge of one of its two signals; `a` and `b` are their levels after it.
[[nodiscard]] constexpr int quadrature_count(bool a_changed, bool a, bool b) {
    return a_changed == (a == b) ? -1 : 1;
}

} // namespace dropledger::capture
