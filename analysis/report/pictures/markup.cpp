#include "analysis/report/pictures/markup.hpp"

#include "analysis/base/shown_text.hpp"

namespace dropledger::report::pictures {

namespace {

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

} // namespace

std::string escaped(std::string_view text) {
    std::string safe;
    for (const char c : shown_text(text, Breaks::kept)) {
        const std::string_view instead = reference(c);
        safe.append(instead.empty() ? std::string_view{&c, 1} : instead);
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

std::string scrolling(std::string_view label, std::string_view content) {
    return element("div",
                   R"(class="wide" tabindex="0" role="region" aria-label=")" + escaped(label) + '"',
                   content);
}

} // namespace dropledger::report::pictures
