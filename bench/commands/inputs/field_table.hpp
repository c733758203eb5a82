// A field's drops in a table (CSV), as the machine names and writes things.
#pragma once

#include "analysis/base/readers/byte_source.hpp"
#include "analysis/field/input/drops.hpp"

#include <optional>
#include <string>

namespace dropledger::cli {

// `mapping`: a file (TOML); the usual names where there is none.
[[nodiscard]] Result<field::Field> read_field_table(const OpenBytes& open, const std::string& file,
                                                    const std::optional<std::string>& mapping);

} // namespace dropledger::cli
