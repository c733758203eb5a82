// Text that came from a file, a device or a command line, made fit to be looked at.
//
// What steers a terminal, turns the reading direction, or cannot be seen is shown as an escape: a
// control character as \x1B, an unprintable character as \u{202E}, a byte that is no UTF-8 as \xFF.
// All else stays as it is, a backslash too: the text is for eyes, not to be read back.
#pragma once

#include <fmt/format.h>

#include <string>
#include <string_view>
#include <type_traits>

namespace dropledger {

enum class Breaks {
    shown, // line ends and tabulators as \n and \t: a value in the middle of a line
    kept,  // they are ours: whole pages
};

[[nodiscard]] std::string shown_text(std::string_view text, Breaks breaks = Breaks::shown);

// What a text argument is formatted as; a number stays as it is.
template <class T> decltype(auto) shown_argument(const T& argument) {
    if constexpr (std::is_convertible_v<const T&, std::string_view>)
        return shown_text(argument);
    else
        return (argument);
}

// A page of plain text that grows line by line. Texts put in by add() are shown escaped, so that a
// value cannot pass for a line of the page.
class TextPage {
public:
    template <class... T>
    TextPage& add(fmt::format_string<decltype(shown_argument(std::declval<const T&>()))...> form,
                  const T&... arguments) {
        text_ += fmt::format(form, shown_argument(arguments)...);
        return *this;
    }
    // Lines that are a page already.
    TextPage& append(std::string_view page) {
        text_ += shown_text(page, Breaks::kept);
        return *this;
    }
    [[nodiscard]] const std::string& text() const { return text_; }

private:
    std::string text_;
};

} // namespace dropledger
