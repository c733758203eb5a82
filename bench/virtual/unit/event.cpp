#include "bench/virtual/unit/event.hpp"

#include <fmt/format.h>

#include <array>
#include <cstddef>

namespace dropledger::bench_virtual {

namespace {

constexpr std::array<const char*, 5> kinds{"drop", "seed", "stray", "debris", "held"};

} // namespace

std::string truth_header() {
    return "channel,index,position_um,seeds,landings_um,seen_gate0,seen_gate1,kind,run";
}

std::string truth_row(const Truth& truth, int run) {
    const std::string place =
        truth.index < 0 ? "," : fmt::format("{},{}", truth.index, truth.position_um);
    return fmt::format("{},{},{},{},{},{},{},{}", truth.channel, place, truth.seeds,
                       fmt::join(truth.landings_um, ";"), truth.seen[0], truth.seen[1],
                       kinds.at(static_cast<std::size_t>(truth.kind)), run);
}

} // namespace dropledger::bench_virtual
