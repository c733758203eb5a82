// JSON in its one canonical form, so that the same content always has the same bytes to sign.
//
// Assumes: numbers are IEEE 754 doubles, texts UTF-8.
// Undefined when: a number is not finite or is a whole number beyond ±(2^53 − 1), a text is not
// UTF-8, or members are nested deeper than 100: an error.
// Source: RFC 8785 (members sorted by UTF-16 code units, numbers as ECMAScript writes them).
#pragma once

#include "analysis/base/result.hpp"

#include <nlohmann/json_fwd.hpp>

#include <string>
#include <string_view>

namespace dropledger {

[[nodiscard]] Result<std::string> canonical(const nlohmann::json& json);

// As ECMAScript's Number::toString writes it; the number must be finite.
[[nodiscard]] std::string canonical_number(double value);

} // namespace dropledger
