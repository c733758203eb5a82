// Whether a TOML text may be given to the library: its parser and its tables go as deep as the text
// says, and a text of 65 kB can say 32,500 levels.
//
// Undefined when: the text is no TOML; then the answer holds for what stands before the first
// mistake, where the parser stops too.
#pragma once

#include "analysis/base/result.hpp"

#include <string>
#include <string_view>

namespace dropledger {

constexpr std::size_t most_toml_bytes = std::size_t{1} << 20U;

// Refuses more than `most_toml_bytes`, keys of more than 32 parts, and brackets more than 32 deep.
[[nodiscard]] Status toml_is_shallow(std::string_view text, const std::string& where);

} // namespace dropledger
