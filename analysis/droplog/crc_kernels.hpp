// The ways to compute the CRC; crc16 takes the fastest that the machine has.
#pragma once

#include <cstdint>
#include <string_view>

namespace dropledger::droplog {

// Everywhere; eight bytes a step.
[[nodiscard]] std::uint16_t crc16_by_table(std::string_view bytes);

// Sixteen bytes a step, by carry-less multiplication. Only where can_fold() says so.
[[nodiscard]] bool can_fold();
[[nodiscard]] std::uint16_t crc16_by_folding(std::string_view bytes);

} // namespace dropledger::droplog
