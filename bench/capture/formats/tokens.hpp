// Words of a text that are parted by white space, with the line that each stands on.
//
// Assumes: no word is longer than `longest_word`.
#pragma once

#include "analysis/base/readers/byte_source.hpp"

#include <array>
#include <cstdint>
#include <memory>
#include <string>
#include <string_view>

namespace dropledger::capture {

class Tokens {
public:
    static constexpr std::size_t longest_word = 65536;

    Tokens(ByteSource& source, std::string where);

    // Empty at the end. Valid until the next one is asked for. A word that the text's end cuts off
    // (no white space behind it) is an error.
    [[nodiscard]] Result<std::string_view> next();

    [[nodiscard]] std::uint64_t line() const { return line_; } // of the word given last
    [[nodiscard]] Error error(std::string what, std::string remedy) const;

private:
    [[nodiscard]] Result<bool> fill();
    void skip_white();

    ByteSource& source_;
    std::string where_;
    std::unique_ptr<std::array<char, 2 * longest_word>> buffer_;
    std::size_t at_ = 0;
    std::size_t end_ = 0;
    std::uint64_t line_ = 1;
};

} // namespace dropledger::capture
