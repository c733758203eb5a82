#include "analysis/report/pictures/markup.hpp"

#include <array>
#include <cstdint>

namespace dropledger::report::pictures {

namespace {

constexpr std::string_view replacement = "\xEF\xBF\xBD";

bool is_continuation(char c) {
    return (static_cast<unsigned char>(c) & 0xC0U) == 0x80U;
}

struct Form {
    unsigned char mask;
    unsigned char lead;
    std::size_t length;
    std::uint32_t least; // code point, lest a shorter form exists
};
constexpr std::array<Form, 3> long_forms{
    {{0xE0, 0xC0, 2, 0x80}, {0xF0, 0xE0, 3, 0x800}, {0xF8, 0xF0, 4, 0x10000}}};

std::uint32_t code_point(std::string_view bytes, const Form& form) {
    std::uint32_t code = static_cast<unsigned char>(bytes[0]) & (0xFFU & ~unsigned{form.mask});
    for (std::size_t i = 1; i < form.length; ++i)
        code = (code << 6U) | (static_cast<unsigned char>(bytes[i]) & 0x3FU);
    return code;
}

bool is_character(std::uint32_t code) {
    const bool surrogate = code >= 0xD800 && code <= 0xDFFF;
    const bool control = code >= 0x80 && code < 0xA0;
    return !surrogate && !control && code <= 0x10FFFF && code != 0xFFFE && code != 0xFFFF;
}

// Length of the well-formed non-ASCII character that `bytes` begins with; 0 where there is none.
std::size_t character_length(std::string_view bytes) {
    for (const Form& form : long_forms) {
        if ((static_cast<unsigned char>(bytes[0]) & form.mask) != form.lead)
            continue;
        if (bytes.size() < form.length)
            return 0;
        for (std::size_t i = 1; i < form.length; ++i)
            if (!is_continuation(bytes[i]))
                return 0;
        const std::uint32_t code = code_point(bytes, form);
        return code >= form.least && is_character(code) ? form.length : 0;
    }
    return 0;
}

std::string_view reference(char c) {
    switch (c) {
    case '&':
        return "&amp;";
    case '<':
        return "&lt;";
    case '>':
        return "&gt;";
    case '"':
        return "&quot;";
    case '\'':
        return "&#39;";
    default:
        return "";
    }
}

bool is_plain(char c) {
    const auto byte = static_cast<unsigned char>(c);
    return (byte >= 0x20 && byte < 0x7F) || c == '\n' || c == '\t';
}

} // namespace

std::string escaped(std::string_view text) {
    std::string safe;
    safe.reserve(text.size());
    for (std::size_t at = 0; at < text.size();) {
        const char c = text[at];
        if (const std::string_view instead = reference(c); !instead.empty()) {
            safe += instead;
            ++at;
        } else if (is_plain(c)) {
            safe += c;
            ++at;
        } else {
            const std::size_t length = character_length(text.substr(at));
            safe += length > 0 ? text.substr(at, length) : replacement;
            at += length > 0 ? length : 1;
        }
    }
    return safe;
}

namespace {

bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

// A space between a number and its unit, where no line may break.
bool binds(std::string_view text, std::size_t at) {
    if (text[at] != ' ' || at == 0 || !is_digit(text[at - 1]))
        return false;
    const std::string_view rest = text.substr(at + 1);
    return rest.starts_with('%') || rest.starts_with("mm") || rest.starts_with("/m");
}

bool is_minus(std::string_view text, std::size_t at) {
    if (text[at] != '-' || at + 1 >= text.size() || !is_digit(text[at + 1]))
        return false;
    return at == 0 || text[at - 1] == ' ' || text[at - 1] == '(';
}

} // namespace

std::string typeset(std::string_view text) {
    std::string set;
    std::size_t done = 0;
    for (std::size_t at = 0; at < text.size(); ++at) {
        const bool minus = is_minus(text, at);
        if (!minus && !binds(text, at))
            continue;
        set += escaped(text.substr(done, at - done));
        set += minus ? "\xE2\x88\x92" : "\xC2\xA0";
        done = at + 1;
    }
    return set + escaped(text.substr(done));
}

std::string element(std::string_view name, std::string_view attributes, std::string_view content) {
    std::string text = "<";
    text.append(name);
    if (!attributes.empty())
        text.append(" ").append(attributes);
    text.append(">").append(content).append("</").append(name).append(">");
    return text;
}

} // namespace dropledger::report::pictures
