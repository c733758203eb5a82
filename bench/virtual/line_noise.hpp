// What a bad cable does to bytes: bits flip, bytes vanish.
//
// Assumes: rates are per byte, each byte on its own; seeded, so that a run repeats.
#pragma once

#include "bench/virtual/unit/random.hpp"

#include <string>
#include <string_view>

namespace dropledger::bench_virtual {

struct NoiseRates {
    double flip = 0.0; // one bit of the byte is inverted
    double drop = 0.0; // the byte is lost
};

class LineNoise {
public:
    LineNoise(NoiseRates rates, Random random) : rates_(rates), random_(random) {}
    [[nodiscard]] std::string pass(std::string_view bytes);

private:
    NoiseRates rates_;
    Random random_;
};

} // namespace dropledger::bench_virtual
