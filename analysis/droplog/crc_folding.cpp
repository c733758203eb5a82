// Notation: bytes are read as one polynomial over GF(2), first bit highest; P = x^16 + x^12 + x^5 +
// 1; r(n) = x^n mod P. The CRC from initial value 0 is M·x^16 mod P; the initial value adds
// 0xFFFF·x^(bits of M).
#include "analysis/droplog/crc_kernels.hpp"

#include "analysis/base/result.hpp"

#include <array>
#include <cstddef>

#if defined(__x86_64__)
#include <immintrin.h>
#endif

namespace dropledger::droplog {

#if defined(__x86_64__)

namespace {

constexpr std::size_t block = 16;
constexpr std::size_t longest_folded = 256;

constexpr std::uint16_t times_x(std::uint16_t value) {
    const auto shifted = static_cast<std::uint16_t>(value << 1U);
    return (value & 0x8000U) != 0U ? shifted ^ 0x1021U : shifted;
}

constexpr std::uint16_t times_x_to(std::uint16_t value, int power) {
    for (int i = 0; i < power; ++i)
        value = times_x(value);
    return value;
}

constexpr std::uint16_t r(int power) {
    return times_x_to(1, power);
}

// What the initial value 0xFFFF comes to after so many bytes.
constexpr auto initial_after = [] {
    std::array<std::uint16_t, longest_folded> after{};
    after[0] = 0xFFFF;
    for (std::size_t i = 1; i < longest_folded; ++i)
        after[i] = times_x_to(after[i - 1], 8);
    return after;
}();

// Bytes [k, k + 16) make a shuffle that puts the first k bytes of a block, reversed, at its low
// end.
constexpr auto head_shuffles = [] {
    std::array<std::uint8_t, 2 * block> shuffles{};
    for (std::size_t i = 0; i < 2 * block; ++i)
        shuffles[i] = i < block ? static_cast<std::uint8_t>(block - 1 - i) : 0x80;
    return shuffles;
}();

inline __m128i load(const void* at) {
    return _mm_loadu_si128(static_cast<const __m128i*>(at));
}

// M = high·x^64 + low → M·x^128, short of a multiple of P.
__attribute__((target("pclmul,ssse3"))) inline __m128i shifted_by_a_block(__m128i m) {
    const __m128i factors = _mm_set_epi64x(r(192), r(128));
    return _mm_xor_si128(_mm_clmulepi64_si128(m, factors, 0x11),
                         _mm_clmulepi64_si128(m, factors, 0x00));
}

// floor(x^80 / P), short of its highest term, x^64.
constexpr std::uint64_t x80_over_p = [] {
    std::uint64_t quotient = 0;
    std::uint16_t rest = 0;
    for (int power = 80; power >= 0; --power) {
        quotient = (quotient << 1U) | (rest >> 15U);
        rest = times_x(rest) ^ (power == 80 ? 1U : 0U);
    }
    return quotient;
}();

// M·x^16 mod P.
__attribute__((target("pclmul,ssse3"))) inline std::uint16_t remainder(__m128i m) {
    const __m128i factors = _mm_set_epi64x(r(80), r(16));
    const __m128i bits80 = _mm_xor_si128(_mm_clmulepi64_si128(m, factors, 0x11),
                                         _mm_clmulepi64_si128(m, factors, 0x00));
    // Barrett: q = floor(v / P) = floor(floor(v / x^16)·floor(x^80 / P) / x^64); v mod P = v - q·P,
    // of which the terms below x^16 are left.
    const __m128i above16 = _mm_srli_si128(bits80, 16 / 8);
    const __m128i constant = _mm_set_epi64x(0, static_cast<std::int64_t>(x80_over_p));
    const __m128i product = _mm_clmulepi64_si128(above16, constant, 0x00);
    const __m128i quotient = _mm_xor_si128(_mm_srli_si128(product, 64 / 8), above16);
    const auto q = static_cast<std::uint32_t>(_mm_cvtsi128_si32(quotient));
    const auto v = static_cast<std::uint32_t>(_mm_cvtsi128_si32(bits80));
    return static_cast<std::uint16_t>(v ^ q ^ (q << 5U) ^ (q << 12U));
}

} // namespace

bool can_fold() {
    return __builtin_cpu_supports("pclmul") != 0 && __builtin_cpu_supports("ssse3") != 0;
}

__attribute__((target("pclmul,ssse3"))) std::uint16_t crc16_by_folding(std::string_view bytes) {
    if (bytes.size() < block || bytes.size() >= longest_folded)
        return crc16_by_table(bytes);
    const char* at = bytes.data();
    const char* const end = at + bytes.size();
    const std::size_t head = bytes.size() % block;
    __m128i m = _mm_shuffle_epi8(load(at), load(head_shuffles.data() + block - head));
    const __m128i reversed = load(head_shuffles.data());
    for (at += head; at != end; at += block)
        m = _mm_xor_si128(shifted_by_a_block(m), _mm_shuffle_epi8(load(at), reversed));
    return remainder(m) ^ initial_after[bytes.size()];
}

#else

bool can_fold() {
    return false;
}

std::uint16_t crc16_by_folding(std::string_view /*bytes*/) {
    throw BrokenInvariant("crc16_by_folding: asked for on a machine that cannot");
}

#endif

} // namespace dropledger::droplog
