// A page for a terminal of 80 columns: headings, lines, and sentences that flow under an indent.
//
// What comes out of a log is shown escaped.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace dropledger::report {

class Page {
public:
    static constexpr std::size_t columns = 80;

    void heading(std::string_view text);
    void line(std::string_view text);
    // Words flow from `first` on; later lines stand under `indent`.
    void flow(std::string_view first, std::string_view words, std::size_t indent);
    void item(std::string_view words) { flow("  - ", words, 4); }

    [[nodiscard]] std::string text() && { return std::move(page_); }

private:
    std::string page_;
};

} // namespace dropledger::report
