#include "bench/virtual/line_noise.hpp"

namespace dropledger::bench_virtual {

std::string LineNoise::pass(std::string_view bytes) {
    if (rates_.flip <= 0.0 && rates_.drop <= 0.0)
        return std::string(bytes);
    std::string arrived;
    arrived.reserve(bytes.size());
    for (const char byte : bytes) {
        if (random_.chance(rates_.drop))
            continue;
        const bool flipped = random_.chance(rates_.flip);
        const auto mask = static_cast<unsigned char>(flipped ? 1U << random_.below(8) : 0U);
        arrived += static_cast<char>(static_cast<unsigned char>(byte) ^ mask);
    }
    return arrived;
}

} // namespace dropledger::bench_virtual
