#include "analysis/droplog/crc.hpp"

#include "analysis/droplog/crc_kernels.hpp"

#include <array>
#include <cstddef>

namespace dropledger::droplog {

namespace {

constexpr std::size_t stride = 8;
using Table = std::array<std::array<std::uint16_t, 256>, stride>;

// tables[k][b]: the CRC, from 0, of byte b followed by k zero bytes.
constexpr Table make_tables() {
    Table tables{};
    for (unsigned byte = 0; byte < 256; ++byte) {
        unsigned crc = byte << 8U;
        for (int bit = 0; bit < 8; ++bit)
            crc = (crc & 0x8000U) != 0U ? (crc << 1U) ^ 0x1021U : crc << 1U;
        tables[0][byte] = static_cast<std::uint16_t>(crc);
    }
    for (std::size_t k = 1; k < stride; ++k)
        for (unsigned byte = 0; byte < 256; ++byte) {
            const unsigned before = tables[k - 1][byte];
            tables[k][byte] =
                static_cast<std::uint16_t>((before << 8U) ^ tables[0][(before >> 8U) & 0xffU]);
        }
    return tables;
}

constexpr Table tables = make_tables();

const bool folds = can_fold();

} // namespace

std::uint16_t crc16(std::string_view bytes) {
    return folds ? crc16_by_folding(bytes) : crc16_by_table(bytes);
}

std::uint16_t crc16_by_table(std::string_view bytes) {
    unsigned crc = 0xFFFFU;
    const auto* at = reinterpret_cast<const unsigned char*>(bytes.data());
    std::size_t left = bytes.size();
    for (; left >= stride; left -= stride, at += stride) {
        crc = static_cast<unsigned>(tables[7][at[0] ^ (crc >> 8U)]) ^
              tables[6][at[1] ^ (crc & 0xffU)] ^ tables[5][at[2]] ^ tables[4][at[3]] ^
              tables[3][at[4]] ^ tables[2][at[5]] ^ tables[1][at[6]] ^ tables[0][at[7]];
    }
    for (; left > 0; --left, ++at)
        crc = ((crc << 8U) ^ tables[0][((crc >> 8U) ^ *at) & 0xffU]) & 0xffffU;
    return static_cast<std::uint16_t>(crc);
}

} // namespace dropledger::droplog
