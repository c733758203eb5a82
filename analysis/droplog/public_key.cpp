#include "analysis/droplog/public_key.hpp"

#include <algorithm>
#include <string_view>

namespace dropledger::droplog {

namespace {

constexpr std::uint8_t sign_bit = 0x80;

// y of the points of small order, little-endian: 0 and the two of order 8 stand for two points
// each, x and -x; on 1 and -1 x is 0.
constexpr std::array<std::string_view, 5> small_order{
    "0000000000000000000000000000000000000000000000000000000000000000",
    "0100000000000000000000000000000000000000000000000000000000000000",
    "26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc05",
    "c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac037a",
    "ecffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f"};

// y is 2^255 - 19 or more.
bool is_written_too_large(const PublicKey& y) {
    return y.back() == 0x7f && y.front() >= 0xed &&
           std::all_of(y.begin() + 1, y.end() - 1, [](std::uint8_t byte) { return byte == 0xff; });
}

} // namespace

bool may_be_trusted(const PublicKey& key) {
    PublicKey y = key;
    y.back() &= static_cast<std::uint8_t>(~sign_bit);
    return !is_written_too_large(y) &&
           std::find(small_order.begin(), small_order.end(), to_hex(y)) == small_order.end();
}

} // namespace dropledger::droplog
