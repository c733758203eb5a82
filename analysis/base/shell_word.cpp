#include "analysis/base/shell_word.hpp"

namespace dropledger {

std::string shell_word(std::string_view text) {
    constexpr std::string_view plain = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                       "0123456789_./:=@%+,-";
    const std::string place = text.starts_with('-') ? "./" : "";
    if (!text.empty() && text.find_first_not_of(plain) == std::string_view::npos)
        return place + std::string{text};
    std::string word = "'" + place;
    for (const char c : text)
        word += c == '\'' ? std::string{"'\\''"} : std::string(1, c);
    return word + "'";
}

} // namespace dropledger
