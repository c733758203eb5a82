// Numbers as people type them: 0,9 km/h where an option is in m/s, 18cm where it is in mm.
//
// Assumes: the last part of an option's name is its unit: --spacing-mm, --speed-mps. A value
// without a unit is in that one; a unit of the same kind is converted.
// Undefined when: a comma may part thousands (1,000): that is asked about, never guessed.
#pragma once

#include "analysis/base/result.hpp"

#include <optional>
#include <string>
#include <string_view>

namespace dropledger::cli {

// In the option's unit.
[[nodiscard]] Result<double> typed_number(std::string_view option, std::string_view typed);

} // namespace dropledger::cli
