#include "analysis/report/text/page.hpp"

#include "analysis/base/shown_text.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::report {

void Page::heading(std::string_view text) {
    page_ += fmt::format("\n{}\n", shown_text(text));
}

void Page::line(std::string_view text) {
    page_ += fmt::format("  {}\n", shown_text(text));
}

void Page::flow(std::string_view first, std::string_view words, std::size_t indent) {
    std::string current(first);
    current.resize(std::max(current.size(), indent), ' ');
    bool empty = true;
    for (std::size_t at = 0; at < words.size();) {
        const std::size_t end = std::min(words.find(' ', at), words.size());
        const std::string_view word = words.substr(at, end - at);
        if (!empty && current.size() + 1 + word.size() > columns) {
            page_ += shown_text(current) + "\n";
            current.assign(indent, ' ');
            empty = true;
        }
        current += (empty ? "" : " ") + std::string(word);
        empty = false;
        at = end + 1;
    }
    page_ += shown_text(current) + "\n";
}

} // namespace dropledger::report
