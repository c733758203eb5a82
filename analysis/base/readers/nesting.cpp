#include "analysis/base/readers/nesting.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger {

namespace {

constexpr int most_parts = 32;
constexpr int most_brackets = 32;

// Goes over a text once and counts what nests.
class Walk {
public:
    explicit Walk(std::string_view text) : text_(text) {}

    // The line on which it gets too deep, 0 where it does not.
    [[nodiscard]] std::size_t too_deep() {
        while (at_ < text_.size() && dots_ < most_parts && brackets_ <= most_brackets)
            step();
        return at_ < text_.size() ? line_ : 0;
    }

private:
    void step() {
        const char c = text_[at_];
        if (c == '#')
            return skip_to(text_.find('\n', at_));
        if (c == '"' || c == '\'')
            return skip_quoted(c);
        ++at_;
        line_ += c == '\n' ? 1U : 0U;
        if (c == '.')
            ++dots_;
        if (c == '[' || c == '{')
            ++brackets_;
        if (c == ']' || c == '}')
            --brackets_;
        if (c == '\n' || c == '=' || c == ',' || c == '[' || c == '{')
            dots_ = 0;
    }

    void skip_quoted(char quote) {
        const std::string three(3, quote);
        if (text_.substr(at_, 3) == three)
            return skip_long(quote, three);
        for (++at_; at_ < text_.size() && text_[at_] != quote && text_[at_] != '\n'; ++at_)
            if (quote == '"' && text_[at_] == '\\')
                ++at_;
        at_ += at_ < text_.size() && text_[at_] == quote ? 1U : 0U;
    }

    void skip_long(char quote, const std::string& three) {
        for (at_ += 3; at_ < text_.size() && text_.substr(at_, 3) != three; ++at_) {
            line_ += text_[at_] == '\n' ? 1U : 0U;
            if (quote == '"' && text_[at_] == '\\')
                ++at_;
        }
        at_ += 3;
        while (at_ < text_.size() && text_[at_] == quote) // up to two may belong to the text
            ++at_;
    }

    void skip_to(std::size_t place) { at_ = std::min(place, text_.size()); }

    std::string_view text_;
    std::size_t at_ = 0;
    std::size_t line_ = 1;
    int dots_ = 0;
    int brackets_ = 0;
};

} // namespace

Status toml_is_shallow(std::string_view text, const std::string& where) {
    if (text.size() > most_toml_bytes)
        return input_error(where,
                           fmt::format("{} bytes are no file of this kind (at most {})",
                                       text.size(), most_toml_bytes),
                           "give the right file");
    if (const std::size_t line = Walk(text).too_deep(); line > 0)
        return input_error(
            fmt::format("{}:{}", where, line),
            fmt::format("tables or lists are nested more than {} deep", most_brackets),
            "give the right file");
    return Done{};
}

} // namespace dropledger
