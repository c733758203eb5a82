// The line of column names of a table of samples: where it stands, and what its columns are.
#pragma once

#include "analysis/base/readers/byte_source.hpp"

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace dropledger::capture {

struct SamplesHead {
    std::uint64_t line = 0; // of the names, from 1
    char separator = ',';
    std::size_t columns = 0;
    std::optional<std::size_t> time_column;
    double ps_per_unit = 0.0;
    std::vector<std::size_t> wire_columns; // wide: of each wire
    std::size_t signal_column = 0;         // long
    std::size_t level_column = 0;

    [[nodiscard]] bool is_long() const { return wire_columns.empty(); }
};

[[nodiscard]] Result<SamplesHead> find_head(ByteSource& source, const std::string& where,
                                            std::span<const std::string> wires);

} // namespace dropledger::capture
