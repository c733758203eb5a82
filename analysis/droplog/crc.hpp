// CRC-16/IBM-3740: polynomial 0x1021, initial 0xFFFF, not reflected, no final xor.
//
// Source: the catalogue of parametrised CRC algorithms; check value for "123456789" is 0x29B1.
#pragma once

#include <cstdint>
#include <string_view>

namespace dropledger::droplog {

[[nodiscard]] std::uint16_t crc16(std::string_view bytes);

} // namespace dropledger::droplog
