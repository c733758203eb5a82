#include "analysis/base/shown_text.hpp"

#include "analysis/base/utf8.hpp"

#include <algorithm>
#include <array>

namespace dropledger {

namespace {

struct Range {
    std::uint32_t first;
    std::uint32_t last;
};

// Characters with no picture of their own, or that move those of others. From memory of the Unicode
// character database: categories Cc, Cf, Zl, Zp, the fillers, and what is no character.
constexpr std::array<Range, 19> unseen{{{0x0000, 0x001F},
                                        {0x007F, 0x009F},
                                        {0x00AD, 0x00AD},
                                        {0x034F, 0x034F},
                                        {0x061C, 0x061C},
                                        {0x115F, 0x1160},
                                        {0x17B4, 0x17B5},
                                        {0x180B, 0x180F},
                                        {0x200B, 0x200F},
                                        {0x2028, 0x202E},
                                        {0x2060, 0x206F},
                                        {0x3164, 0x3164},
                                        {0xFDD0, 0xFDEF},
                                        {0xFE00, 0xFE0F},
                                        {0xFEFF, 0xFEFF},
                                        {0xFFA0, 0xFFA0},
                                        {0xFFF0, 0xFFFB},
                                        {0xFFFE, 0xFFFF},
                                        {0xE0000, 0xE0FFF}}};

bool can_be_seen(std::uint32_t code) {
    return std::none_of(unseen.begin(), unseen.end(), [code](const Range& range) {
        return code >= range.first && code <= range.last;
    });
}

std::string escape_of(std::uint32_t code) {
    if (code == '\n')
        return "\\n";
    if (code == '\t')
        return "\\t";
    if (code == '\r')
        return "\\r";
    return code < 0x80 ? fmt::format("\\x{:02X}", code) : fmt::format("\\u{{{:04X}}}", code);
}

} // namespace

std::string shown_text(std::string_view text, Breaks breaks) {
    std::string shown;
    shown.reserve(text.size());
    for (std::size_t at = 0; at < text.size();) {
        const auto character = first_character(text.substr(at));
        const bool is_break = text[at] == '\n' || text[at] == '\t';
        if (!character)
            shown += fmt::format("\\x{:02X}", static_cast<unsigned char>(text[at]));
        else if (can_be_seen(character->code) || (is_break && breaks == Breaks::kept))
            shown += text.substr(at, character->length);
        else
            shown += escape_of(character->code);
        at += character ? character->length : 1;
    }
    return shown;
}

} // namespace dropledger
