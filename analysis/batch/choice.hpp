// Which units of a batch are tested: a random choice that anyone can redo from its seed.
//
// Method: SplitMix64, its state begun with the seed. For i = 0 … n − 1 with m = size − i left: draw
// 64 bits x, anew while x ≥ 2^64 − (2^64 mod m); swap the serials i and i + (x mod m). The first n
// serials are the choice, in this order. Every choice of n is equally likely over the seeds.
// Source: Fisher–Yates shuffle cut short; SplitMix64 is a public domain algorithm.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

namespace dropledger::batch {

// Written beside the choice: with it and the serials in their order, the choice can be redone.
inline constexpr const char* choice_method = "SplitMix64, Fisher-Yates, first n; version 1";

class SplitMix64 {
public:
    explicit SplitMix64(std::uint64_t seed) : state_(seed) {}
    [[nodiscard]] std::uint64_t bits();
    [[nodiscard]] std::uint64_t below(std::uint64_t bound); // 0 … bound - 1, each as likely

private:
    std::uint64_t state_;
};

// `n` of the serials; all of them where n is not less than their number.
[[nodiscard]] std::vector<std::string> chosen_units(std::span<const std::string> serials,
                                                    std::int64_t n, std::uint64_t seed);

// SHA-256, hex, of all serials in their order, each followed by LF.
[[nodiscard]] std::string serials_hash(std::span<const std::string> serials);

} // namespace dropledger::batch
