// Where a table's header line stands, what separates its fields, and which column is which.
//
// Lines above the header (a title, a date, the machine's name) are passed over: the header is the
// first line that names all columns needed. Names count in upper or lower case alike; blank columns
// behind the last one are let be. Undefined when: no line names them: refused, with the columns that
// were found.
#pragma once

#include "analysis/field/table/decoded_source.hpp"
#include "analysis/field/table/mapping.hpp"

#include <array>
#include <limits>

namespace dropledger::field {

struct Header {
    static constexpr std::size_t absent = std::numeric_limits<std::size_t>::max();

    std::array<std::size_t, column_count> at{}; // where each of our columns stands
    std::size_t width = 0;                      // columns with a name
    std::uint64_t titles = 0;                   // lines above it
    char separator = ',';

    [[nodiscard]] std::size_t of(Column column) const {
        return at.at(static_cast<std::size_t>(column));
    }
    [[nodiscard]] bool has(Column column) const { return of(column) != absent; }
};

// Leaves what stands above the header out of the source.
[[nodiscard]] Result<Header> find_header(DecodedSource& source, const std::string& file,
                                         const Mapping& mapping);

} // namespace dropledger::field
