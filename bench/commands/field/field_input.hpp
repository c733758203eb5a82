// The field's drops from what the command line names: one table, or droplogs of the machine.
#pragma once

#include "analysis/field/input/drops.hpp"

#include <optional>
#include <string>
#include <vector>

namespace dropledger::cli {

struct FieldInput {
    std::vector<std::string> files;
    std::optional<std::string> mapping;   // of a table
    std::optional<double> row_spacing_mm; // of logs
    bool same_direction = false;
};

[[nodiscard]] Result<field::Field> read_input(const FieldInput& input);

} // namespace dropledger::cli
