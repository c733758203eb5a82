// JSON out of a file that anyone may have written: measured first, then read.
//
// Undefined when: the text is over `most_json_bytes`, nests deeper than `deepest_json` or is not JSON: an error. Nothing
// is copied before the first two are known, since what handles a value goes into it level by level on the stack.
#pragma once

#include "analysis/base/result.hpp"

#include <nlohmann/json_fwd.hpp>

#include <cstddef>
#include <string>
#include <string_view>

namespace dropledger {

inline constexpr std::size_t most_json_bytes = std::size_t{64} << 20U;
inline constexpr std::size_t deepest_json = 100;

// `where` is for messages.
[[nodiscard]] Result<nlohmann::json> read_json(std::string_view text, const std::string& where);

} // namespace dropledger
