// Numbers and fields out of text, locale-free and exact, with no exceptions.
//
// Undefined when: nothing; every function answers std::nullopt for text that is not wholly the
// thing asked for (no leading blanks, no trailing rest, no overflow).
#pragma once

#include <concepts>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger {

[[nodiscard]] std::optional<std::int64_t> parse_int(std::string_view text);
[[nodiscard]] std::optional<std::uint64_t> parse_uint(std::string_view text);
// Finite decimal numbers only; "nan" and "inf" are refused.
[[nodiscard]] std::optional<double> parse_double(std::string_view text);

[[nodiscard]] std::string_view trim(std::string_view text);
[[nodiscard]] std::string lower(std::string_view text); // A to Z only
// Every `from`, which is not empty.
[[nodiscard]] std::string replaced(std::string text, std::string_view from, std::string_view to);
// The parts look into `text`, which must outlive them: hence not a temporary.
[[nodiscard]] std::vector<std::string_view> split(std::string_view text, char separator);
template <std::same_as<std::string> Temporary>
std::vector<std::string_view> split(Temporary&& text, char separator) = delete;

// RFC 3986 percent-encoding of `,` `*` `%`, control and non-ASCII bytes.
[[nodiscard]] std::string percent_encode(std::string_view bytes);
[[nodiscard]] std::optional<std::string> percent_decode(std::string_view text);

} // namespace dropledger
