// A seeded generator and the few distributions the virtual bench needs, the same bits on every
// platform.
//
// Assumes: IEEE 754 doubles without fused operations; only + - * / and sqrt are used, because the
// standard library's distributions and log/exp may differ from one platform to the next.
// Source: xoshiro256** 1.0 with a splitmix64 seeding (both public domain algorithms).
#pragma once

#include <array>
#include <cmath>
#include <cstdint>

namespace dropledger::bench_virtual {

// Natural logarithm of x > 0 and exponential, to about 1e-15 relative.
[[nodiscard]] double plain_log(double x);
[[nodiscard]] double plain_exp(double x);
// The greatest whole number not above x, without a call.
[[nodiscard]] inline double plain_floor(double x) {
    constexpr double all_whole = 4503599627370496.0; // 2^52: from here on
    if (!(std::abs(x) < all_whole))
        return x;
    const auto towards_zero = static_cast<double>(static_cast<std::int64_t>(x));
    return towards_zero > x ? towards_zero - 1.0 : towards_zero;
}
// The nearest whole number; halves go up.
[[nodiscard]] inline double whole(double x) {
    return plain_floor(x + 0.5);
}

class Random {
public:
    // Streams of one seed are independent: one per channel, one for the wire, and so on.
    Random(std::uint64_t seed, std::uint64_t stream);

    [[nodiscard]] std::uint64_t bits();
    [[nodiscard]] double uniform(); // 0 <= u < 1
    [[nodiscard]] bool chance(double probability);
    [[nodiscard]] std::uint64_t below(std::uint64_t bound); // 0 … bound - 1, bound > 0
    [[nodiscard]] double exponential(double mean);
    [[nodiscard]] double normal(); // mean 0, standard deviation 1
    // Standard normal held to ± 4, so that every event has an earliest and a latest time.
    [[nodiscard]] double bounded_normal();
    [[nodiscard]] double log_normal(double median, double log_sd);
    [[nodiscard]] double gamma(double shape); // scale 1, shape > 0

private:
    std::array<std::uint64_t, 4> state_{};
    double spare_ = 0.0;
    bool has_spare_ = false;
};

} // namespace dropledger::bench_virtual
