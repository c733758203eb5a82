// Characters out of UTF-8 bytes.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string_view>

namespace dropledger {

struct Character {
    std::uint32_t code = 0; // its code point
    std::size_t length = 1; // in bytes
};

// The character that `bytes`, which are not empty, begin with.
// Undefined when: the bytes are not well formed (cut off, longer than needed, a surrogate, beyond
// U+10FFFF).
[[nodiscard]] std::optional<Character> first_character(std::string_view bytes);

[[nodiscard]] bool is_utf8(std::string_view text);

} // namespace dropledger
