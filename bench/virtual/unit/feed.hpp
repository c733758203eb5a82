// The metering disc: how many seeds a cell gives, and what spoils it.
//
// Assumes: cells follow each other round and round; the ordinal is the commanded drop (single,
// portion) or the n-th seed of the flow (line), and bridging starts and ends between two ordinals.
#pragma once

#include "bench/virtual/unit/random.hpp"
#include "bench/virtual/unit/scenario.hpp"

#include <cstdint>

namespace dropledger::bench_virtual {

class Feed {
public:
    Feed(const UnitSpec& unit, double speed_mps);

    void begin(std::int64_t ordinal, Random& random);
    [[nodiscard]] std::uint32_t seeds_from_next_cell(Random& random); // 0, 1 or 2

private:
    [[nodiscard]] double fill() const;

    UnitSpec unit_;
    double speed_loss_;
    std::int64_t ordinal_ = 0;
    std::int64_t slot_ = 0;     // cells passed
    std::uint64_t bridged_ = 0; // ordinals left in the burst
};

} // namespace dropledger::bench_virtual
