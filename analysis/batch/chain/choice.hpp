// Which units of a batch are tested: a random choice that anyone can redo from its seed.
//
// Method: SplitMix64, its state begun with the seed. For i = 0 … n − 1 with m = size − i left: draw
// 64 bits x, anew while x ≥ 2^64 − (2^64 mod m); swap the serials i and i + (x mod m). The first n
// serials are the choice, in this order. Every choice of n is equally likely over the seeds.
// A seed with a buyer's part: the first 8 bytes, most significant first, of SHA-256 over the
// bench's part, LF and the buyer's text. The bench's part is bound before the buyer speaks by its
// SHA-256; neither side alone can turn the choice to its wish.
// Source: Fisher–Yates shuffle cut short; SplitMix64 is a public domain algorithm. Commit and
// reveal: coin flipping by telephone, Blum 1981 (from memory).
#pragma once

#include "analysis/base/enum_names.hpp"

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::batch {

// Written beside the choice: with it and the serials in their order, the choice can be redone.
inline constexpr const char* choice_method = "SplitMix64, Fisher-Yates, first n; version 1";

enum class SeedOrigin : std::uint8_t {
    typed,      // somebody at the bench wrote it: it may have been picked for what it chooses
    drawn,      // the program drew it; nobody but the issuer knows how often
    with_buyer, // drawn and bound first, then joined with a text of the buyer's
};
inline constexpr std::array seed_origin_names{EnumName{SeedOrigin::typed, "typed"},
                                              EnumName{SeedOrigin::drawn, "drawn"},
                                              EnumName{SeedOrigin::with_buyer, "with_buyer"}};
static_assert(names_all<seed_origin_names>());

struct Choice {
    SeedOrigin origin = SeedOrigin::drawn;
    std::optional<std::uint64_t> seed; // none while the buyer's part is waited for
    std::string commitment;            // with a buyer: SHA-256 of the bench's part, hex
    std::string bench_part;            // with a buyer, once it is told
    std::string buyer_text;
    std::string method = choice_method; // published with the program: anyone can redo it
};

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

[[nodiscard]] std::string commitment_to(std::string_view bench_part);
[[nodiscard]] std::uint64_t seed_with_buyer(std::string_view bench_part,
                                            std::string_view buyer_text);

// SHA-256, hex, of all serials in their order, each followed by LF.
[[nodiscard]] std::string serials_hash(std::span<const std::string> serials);

} // namespace dropledger::batch
