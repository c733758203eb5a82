// A field's drops in tables (CSV), as the machine names and writes things.
#pragma once

#include "analysis/base/readers/byte_source.hpp"
#include "analysis/field/input/drops.hpp"
#include "analysis/field/table/mapping.hpp"

#include <optional>
#include <string>
#include <vector>

namespace dropledger::cli {

struct NamedTable {
    std::string file;
    OpenBytes open;
};

struct TableWriting {
    std::optional<std::string> mapping;   // a file (TOML); the usual names where there is none
    std::optional<std::string> time_zone; // of times that state none; goes before the mapping's
};
// With what its zone's name, or the one said instead, stands for.
[[nodiscard]] Result<field::Mapping> with_zone(field::Mapping mapping,
                                               const std::optional<std::string>& said);

[[nodiscard]] Result<field::Field> read_field_tables(const std::vector<NamedTable>& tables,
                                                     const TableWriting& writing,
                                                     const field::Answers& answers = {});

[[nodiscard]] Result<field::Field> read_field_table(const OpenBytes& open, const std::string& file,
                                                    const std::optional<std::string>& mapping);

} // namespace dropledger::cli
