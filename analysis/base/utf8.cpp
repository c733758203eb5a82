#include "analysis/base/utf8.hpp"

#include <array>

namespace dropledger {

namespace {

struct Form {
    unsigned char mask;
    unsigned char lead;
    std::size_t length;
    std::uint32_t least; // code point, lest a shorter form exists
};
constexpr std::array<Form, 4> forms{{{0x80, 0x00, 1, 0x0},
                                     {0xE0, 0xC0, 2, 0x80},
                                     {0xF0, 0xE0, 3, 0x800},
                                     {0xF8, 0xF0, 4, 0x10000}}};

bool is_continuation(char c) {
    return (static_cast<unsigned char>(c) & 0xC0U) == 0x80U;
}

std::optional<Character> character_of(std::string_view bytes, const Form& form) {
    if (bytes.size() < form.length)
        return std::nullopt;
    std::uint32_t code = static_cast<unsigned char>(bytes[0]) & (0xFFU & ~unsigned{form.mask});
    for (std::size_t i = 1; i < form.length; ++i) {
        if (!is_continuation(bytes[i]))
            return std::nullopt;
        code = (code << 6U) | (static_cast<unsigned char>(bytes[i]) & 0x3FU);
    }
    const bool surrogate = code >= 0xD800 && code <= 0xDFFF;
    if (code < form.least || code > 0x10FFFF || surrogate)
        return std::nullopt;
    return Character{code, form.length};
}

} // namespace

std::optional<Character> first_character(std::string_view bytes) {
    for (const Form& form : forms)
        if ((static_cast<unsigned char>(bytes[0]) & form.mask) == form.lead)
            return character_of(bytes, form);
    return std::nullopt;
}

bool is_utf8(std::string_view text) {
    while (!text.empty()) {
        const auto found = first_character(text);
        if (!found)
            return false;
        text.remove_prefix(found->length);
    }
    return true;
}

} // namespace dropledger
