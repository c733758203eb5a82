// Reads the fields of a body from left to right; stays failed once a field does not parse.
//
// Assumes: the body is followed, in the same memory, by its `*CCCC`: five readable bytes, the first
// of which ends the last field.
#pragma once

#include "analysis/droplog/line.hpp"

#include <algorithm>
#include <bit>
#include <cstdint>
#include <cstring>
#include <limits>
#include <string_view>

namespace dropledger::droplog {

[[nodiscard]] inline bool is_printable_ascii(std::string_view text) {
    return std::all_of(text.begin(), text.end(), [](char c) { return c >= 0x20 && c < 0x7f; });
}

class FieldCursor {
public:
    explicit FieldCursor(std::string_view rest) : at_(rest.data()), end_(at_ + rest.size()) {}

    [[nodiscard]] bool failed() const { return failed_; }
    [[nodiscard]] bool more() const { return at_ != end_; }

    // A decimal number up to `greatest`; each field is introduced by its comma.
    [[gnu::always_inline]] std::uint64_t number(std::uint64_t greatest) {
        if (*at_ != ',') // nor is the `*` at end_
            return fail();
        ++at_;
        return digits(greatest);
    }

    [[gnu::always_inline]] std::int64_t signed_number(std::int64_t greatest) {
        if (*at_ != ',')
            return static_cast<std::int64_t>(fail());
        const bool negative = at_[1] == '-';
        at_ += negative ? 2 : 1;
        const auto value = static_cast<std::int64_t>(digits(static_cast<std::uint64_t>(greatest)));
        return negative ? -value : value;
    }

    template <class T> [[gnu::always_inline]] T field() {
        return static_cast<T>(number(std::numeric_limits<T>::max()));
    }

    // A text field, which may not be empty.
    std::string_view text() {
        if (end_ - at_ < 2 || *at_ != ',' || at_[1] == ',') {
            fail();
            return {};
        }
        ++at_;
        const char* const start = at_;
        at_ = std::find(at_, end_, ',');
        const std::string_view found{start, static_cast<std::size_t>(at_ - start)};
        if (!is_printable_ascii(found))
            fail();
        return found;
    }

    std::uint64_t fail() {
        failed_ = true;
        return 0;
    }

private:
    // `greatest` is a constant wherever this is called: inlined, only what it needs is left.
    [[gnu::always_inline]] std::uint64_t digits(std::uint64_t greatest) {
        constexpr std::uint64_t few_digits = 0xffff;
        constexpr std::ptrdiff_t never_overflows = 18;
        const char* const start = at_;
        std::uint64_t value = greatest > few_digits ? up_to_eight_digits() : 0;
        if (greatest <= few_digits || at_ == start || at_ - start == 8)
            value = further_digits(value);
        const bool ends_here = *at_ == ',' || at_ == end_; // the byte at end_ is a `*`
        const auto length = at_ - start;
        if (!ends_here || length == 0 || length > never_overflows || value > greatest)
            return fail();
        return value;
    }

    [[gnu::always_inline]] std::uint64_t further_digits(std::uint64_t value) {
        for (;; ++at_) {
            const auto digit = static_cast<unsigned>(*at_ - '0');
            if (digit > 9)
                return value;
            value = value * 10 + digit;
        }
    }

    // The digits that stand next, eight at most, taken as one word: a number costs no branch per
    // digit. None where fewer than eight bytes can be read.
    [[gnu::always_inline]] std::uint64_t up_to_eight_digits() {
        if constexpr (std::endian::native != std::endian::little)
            return 0;
        if (end_ + check_size - at_ < 8)
            return 0;
        constexpr std::uint64_t each = 0x0101010101010101U;
        std::uint64_t word = 0;
        std::memcpy(&word, at_, sizeof word);
        word ^= each * '0'; // a digit's byte is now its value, 0 … 9
        // The top bit of the first byte that is none; what is carried beyond it does not matter.
        const std::uint64_t others = ((word + each * 0x76) | word) & (each * 0x80);
        const int bits = std::countr_zero(others) & 0x78; // 64 where all are digits
        if (bits == 0)
            return 0;
        at_ += bits / 8;
        word <<= 64 - bits;                                            // as if zeros stood before
        word = (word * (1 + (10U << 8U)) >> 8U) & 0x00ff00ff00ff00ffU; // pairs
        word = (word * (1 + (100U << 16U)) >> 16U) & 0x0000ffff0000ffffU; // fours
        return word * (1 + (std::uint64_t{10'000} << 32U)) >> 32U;
    }

    const char* at_;
    const char* end_;
    bool failed_ = false;
};

} // namespace dropledger::droplog
