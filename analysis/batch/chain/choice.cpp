#include "analysis/batch/chain/choice.hpp"

#include "analysis/droplog/seal.hpp"

#include <algorithm>
#include <utility>

namespace dropledger::batch {

std::uint64_t SplitMix64::bits() {
    state_ += 0x9e3779b97f4a7c15U;
    std::uint64_t z = state_;
    z = (z ^ (z >> 30U)) * 0xbf58476d1ce4e5b9U;
    z = (z ^ (z >> 27U)) * 0x94d049bb133111ebU;
    return z ^ (z >> 31U);
}

std::uint64_t SplitMix64::below(std::uint64_t bound) {
    const std::uint64_t unfair = (0 - bound) % bound; // 2^64 mod bound
    std::uint64_t x = bits();
    while (x > ~std::uint64_t{0} - unfair)
        x = bits();
    return x % bound;
}

std::vector<std::string> chosen_units(std::span<const std::string> serials, std::int64_t n,
                                      std::uint64_t seed) {
    std::vector<std::string> units(serials.begin(), serials.end());
    const std::size_t count =
        std::min(units.size(), static_cast<std::size_t>(std::max<std::int64_t>(n, 0)));
    SplitMix64 random(seed);
    for (std::size_t i = 0; i < count; ++i)
        std::swap(units[i], units[i + static_cast<std::size_t>(random.below(units.size() - i))]);
    units.resize(count);
    return units;
}

std::string commitment_to(std::string_view bench_part) {
    return droplog::to_hex(droplog::sha256(bench_part));
}

std::uint64_t seed_with_buyer(std::string_view bench_part, std::string_view buyer_text) {
    std::string both{bench_part};
    both += "\n";
    both += buyer_text;
    const droplog::Hash hash = droplog::sha256(both);
    std::uint64_t seed = 0;
    for (std::size_t i = 0; i < 8; ++i)
        seed = seed << 8U | hash.at(i);
    return seed;
}

std::string serials_hash(std::span<const std::string> serials) {
    droplog::Digest digest;
    for (const std::string& serial : serials) {
        digest.add(serial);
        digest.add("\n");
    }
    return droplog::to_hex(digest.finish());
}

} // namespace dropledger::batch
