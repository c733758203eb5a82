#include "bench/capture/formats/tokens.hpp"

#include <fmt/format.h>

#include <cstring>
#include <utility>

namespace dropledger::capture {

namespace {

bool is_white(char c) {
    return c == ' ' || (c >= '\t' && c <= '\r');
}

} // namespace

Tokens::Tokens(ByteSource& source, std::string where)
    : source_(source), where_(std::move(where)),
      buffer_(std::make_unique<std::array<char, 2 * longest_word>>()) {
}

Error Tokens::error(std::string what, std::string remedy) const {
    return input_error(fmt::format("{}:{}", where_, line_), std::move(what), std::move(remedy));
}

// More bytes behind those that are left; false at the end.
Result<bool> Tokens::fill() {
    std::memmove(buffer_->data(), buffer_->data() + at_, end_ - at_);
    end_ -= std::exchange(at_, 0);
    if (end_ >= longest_word)
        return error(fmt::format("a word of over {} characters", longest_word),
                     "this is no value change dump");
    const auto read = source_.read(std::span(*buffer_).subspan(end_));
    if (!read)
        return read.error();
    end_ += *read;
    return *read > 0;
}

void Tokens::skip_white() {
    while (at_ < end_ && is_white((*buffer_)[at_]))
        line_ += (*buffer_)[at_++] == '\n' ? 1U : 0U;
}

Result<std::string_view> Tokens::next() {
    for (skip_white(); at_ == end_; skip_white()) {
        const auto more = fill();
        if (!more)
            return more.error();
        if (!*more)
            return std::string_view{};
    }
    std::size_t length = 0;
    for (;;) {
        while (at_ + length < end_ && !is_white((*buffer_)[at_ + length]))
            ++length;
        if (at_ + length < end_)
            break;
        const auto more = fill();
        if (!more)
            return more.error();
        if (!*more)
            return error("the text ends in the middle of a word",
                         "the file was cut off: copy it again, or let the capture end by itself");
    }
    const std::string_view word(buffer_->data() + at_, length);
    at_ += length;
    return word;
}

} // namespace dropledger::capture
