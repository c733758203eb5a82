// Travel of the bench belt, or of the machine, under a small speed ripple.
//
// Units: µs since the start, µm of travel.
// Assumes: speed = nominal · (1 + ripple · w(t / period)), w a wave of parabolas between -1 and 1
// with mean 0, so that position and its inverse need plain arithmetic only.
#pragma once

#include <cstdint>

namespace dropledger::bench_virtual {

struct TravelSpec {
    std::int64_t speed_um_s = 0;
    double ripple = 0.0;
    double period_s = 1.0;
};

class Travel {
public:
    explicit Travel(const TravelSpec& spec);

    [[nodiscard]] double position_um(double at_us) const;
    [[nodiscard]] double speed_um_per_us(double at_us) const;
    [[nodiscard]] double time_us(double position_um) const;

private:
    double speed_um_per_us_;
    double ripple_;
    double period_us_;
};

} // namespace dropledger::bench_virtual
