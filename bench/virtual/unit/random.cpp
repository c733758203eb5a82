#include "bench/virtual/unit/random.hpp"

#include <algorithm>
#include <bit>
#include <cmath>

namespace dropledger::bench_virtual {

namespace {

constexpr double ln2 = 0.693147180559945309417;

// 1/23, 1/21, … 1
constexpr auto odd_reciprocals = [] {
    std::array<double, 12> reciprocals{};
    for (std::size_t i = 0; i < reciprocals.size(); ++i)
        reciprocals[i] = 1.0 / (23.0 - 2.0 * static_cast<double>(i));
    return reciprocals;
}();

// x = mantissa·2^exponent, 0.5 <= mantissa < 1, exactly; x > 0.
struct Apart {
    double mantissa = 0.0;
    int exponent = 0;
};
Apart taken_apart(double x) {
    constexpr std::uint64_t fraction_bits = (std::uint64_t{1} << 52U) - 1;
    constexpr std::uint64_t half = std::uint64_t{1022} << 52U;
    const auto bits = std::bit_cast<std::uint64_t>(x);
    const std::uint64_t biased = bits >> 52U;
    if (biased >= 1 && biased <= 2046) // neither below the normal numbers nor infinite
        return {std::bit_cast<double>((bits & fraction_bits) | half),
                static_cast<int>(biased) - 1022};
    Apart parts;
    parts.mantissa = std::frexp(x, &parts.exponent);
    return parts;
}

// For values near 1.
double times_two_to(int power, double value) {
    if (power > -1000 && power < 1000)
        return value * std::bit_cast<double>(static_cast<std::uint64_t>(1023 + power) << 52U);
    return std::ldexp(value, power);
}

std::uint64_t splitmix(std::uint64_t& state) {
    state += 0x9e3779b97f4a7c15ULL;
    std::uint64_t z = state;
    z = (z ^ (z >> 30U)) * 0xbf58476d1ce4e5b9ULL;
    z = (z ^ (z >> 27U)) * 0x94d049bb133111ebULL;
    return z ^ (z >> 31U);
}

} // namespace

// x = m·2^e with m near 1, then ln m = 2 artanh((m - 1)/(m + 1)) as a series.
double plain_log(double x) {
    constexpr double root_half = 0.707106781186547524401;
    auto [mantissa, exponent] = taken_apart(x);
    if (mantissa < root_half) {
        mantissa *= 2.0;
        --exponent;
    }
    const double ratio = (mantissa - 1.0) / (mantissa + 1.0);
    const double square = ratio * ratio;
    double series = 0.0;
#pragma GCC unroll 12
    for (const double reciprocal : odd_reciprocals)
        series = series * square + reciprocal;
    return 2.0 * ratio * series + exponent * ln2;
}

// Unrolled, several of them overlap: each step waits for its division. By 2, 4, 8 and 16 the product
// with the reciprocal is the same, to the last bit.
double plain_exp(double x) {
    const double whole = plain_floor(x / ln2 + 0.5);
    const double rest = x - whole * ln2; // |rest| <= ln2 / 2
    double series = 1.0;
#pragma GCC unroll 16
    for (unsigned power = 16; power >= 1; --power)
        series = 1.0 + (std::has_single_bit(power) ? series * rest * (1.0 / power)
                                                   : series * rest / power);
    return times_two_to(static_cast<int>(std::clamp(whole, -2000.0, 2000.0)), series);
}

Random::Random(std::uint64_t seed, std::uint64_t stream) {
    std::uint64_t mix = seed;
    std::uint64_t state = splitmix(mix) ^ (stream * 0xd1342543de82ef95ULL);
    for (auto& word : state_)
        word = splitmix(state);
}

std::uint64_t Random::bits() {
    const std::uint64_t result = std::rotl(state_[1] * 5U, 7) * 9U;
    const std::uint64_t shifted = state_[1] << 17U;
    state_[2] ^= state_[0];
    state_[3] ^= state_[1];
    state_[1] ^= state_[2];
    state_[0] ^= state_[3];
    state_[2] ^= shifted;
    state_[3] = std::rotl(state_[3], 45);
    return result;
}

double Random::uniform() {
    return static_cast<double>(bits() >> 11U) * 0x1.0p-53;
}

bool Random::chance(double probability) {
    return uniform() < probability;
}

std::uint64_t Random::below(std::uint64_t bound) {
    const std::uint64_t fair = ~std::uint64_t{0} - (~std::uint64_t{0} % bound);
    std::uint64_t draw = bits();
    while (draw >= fair)
        draw = bits();
    return draw % bound;
}

double Random::exponential(double mean) {
    return -mean * plain_log(1.0 - uniform());
}

// Marsaglia's polar method.
double Random::normal() {
    if (has_spare_) {
        has_spare_ = false;
        return spare_;
    }
    double x = 0.0;
    double y = 0.0;
    double square = 0.0;
    do {
        x = 2.0 * uniform() - 1.0;
        y = 2.0 * uniform() - 1.0;
        square = x * x + y * y;
    } while (square >= 1.0 || square <= 0.0);
    const double factor = std::sqrt(-2.0 * plain_log(square) / square);
    spare_ = y * factor;
    has_spare_ = true;
    return x * factor;
}

double Random::bounded_normal() {
    return std::clamp(normal(), -4.0, 4.0);
}

double Random::log_normal(double median, double log_sd) {
    return median * plain_exp(log_sd * bounded_normal());
}

// Marsaglia and Tsang's method; below shape 1 by the usual power of a uniform.
double Random::gamma(double shape) {
    if (shape < 1.0) {
        const double power = plain_log(1.0 - uniform()) / shape;
        return gamma(shape + 1.0) * plain_exp(power);
    }
    const double d = shape - 1.0 / 3.0;
    const double c = 1.0 / std::sqrt(9.0 * d);
    for (;;) {
        const double x = normal();
        const double cube_root = 1.0 + c * x;
        if (cube_root <= 0.0)
            continue;
        const double v = cube_root * cube_root * cube_root;
        if (plain_log(1.0 - uniform()) < 0.5 * x * x + d - d * v + d * plain_log(v))
            return d * v;
    }
}

} // namespace dropledger::bench_virtual
