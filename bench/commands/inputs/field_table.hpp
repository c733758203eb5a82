// A field's drops in tables (CSV), as the machine names and writes things.
#pragma once

#include "analysis/base/readers/byte_source.hpp"
#include "analysis/field/input/drops.hpp"

#include <optional>
#include <string>
#include <vector>

namespace dropledger::cli {

struct NamedTable {
    std::string file;
    OpenBytes open;
};

// `mapping`: a file (TOML); the usual names where there is none.
[[nodiscard]] Result<field::Field> read_field_tables(const std::vector<NamedTable>& tables,
                                                     const std::optional<std::string>& mapping,
                                                     const field::Answers& answers = {});

[[nodiscard]] Result<field::Field> read_field_table(const OpenBytes& open, const std::string& file,
                                                    const std::optional<std::string>& mapping);

} // namespace dropledger::cli
