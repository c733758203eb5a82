// The field's drops from what the command line names: tables, or droplogs of the machine; and what
// was found by digging.
#pragma once

#include "analysis/field/input/drops.hpp"
#include "analysis/field/input/findings.hpp"
#include "bench/io/file_source.hpp"

#include <functional>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::cli {

struct FieldInput {
    std::vector<std::string> files;
    std::optional<std::string> mapping;   // of tables
    std::optional<std::string> time_zone; // of tables
    std::optional<double> row_spacing_mm; // of logs
    bool same_direction = false;
    std::optional<std::string> blank_means; // answers to questions about a table
    std::optional<std::string> lacking_drops;
    std::int64_t drop_step = 1;
    std::optional<double> spacing_mm;
    std::vector<std::string> accept;
    std::optional<std::string> found; // a table of what digging found
    std::function<OpenBytes(const std::string&)> open = files::open_file;
};

[[nodiscard]] Result<field::Field> read_input(const FieldInput& input);
[[nodiscard]] Result<field::Findings> findings_of(const FieldInput& input,
                                                  const field::Field& field);

} // namespace dropledger::cli
