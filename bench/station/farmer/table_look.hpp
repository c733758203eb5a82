// A dropped table's first rows: as they stand, and as a mapping makes them.
//
// Assumes: only the first `looked_at_bytes` are looked at; what is said here is said of them.
// Undefined when: the file cannot be read: an error. It is empty: there are no columns. A name that
// is given twice counts once.
#pragma once

#include "analysis/field/input/drops.hpp"
#include "analysis/field/table/mapping.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::station {

constexpr std::size_t looked_at_bytes = std::size_t{256} << 10U;

struct TableLook {
    std::string file;  // its plain name
    std::string bytes; // the first ones
    bool is_whole = true;
    char separator = ',';
    std::vector<std::string> columns;           // as they are named, in their order
    std::vector<std::vector<std::string>> rows; // below the names, as they stand

    // What stands in a column, where it says something; empty where there is no such column.
    [[nodiscard]] std::vector<std::string> values(const std::string& column) const;
    // The same name in upper or lower case, as the table writes it.
    [[nodiscard]] std::optional<std::string> column(std::string_view name) const;
};

// A number, its decimals behind a point or a comma.
[[nodiscard]] std::optional<double> number_in(std::string text);

// The separator is the one that cuts most lines alike, where none is said.
[[nodiscard]] Result<TableLook> look_at(const std::string& file, std::optional<char> separator);

struct ReadRow {
    field::FieldDrop drop;
    std::string pass;
    std::string row;
    std::string field;
    bool has_time = false; // that could be read
    std::string reason;    // why it is kept out; empty: it is not
};

struct Reading {
    std::vector<ReadRow> rows;
    std::int64_t kept_out = 0;
    bool geographic = true;
    bool has_time = false;
    bool has_alerts = false;
    bool has_fields = false;
    bool has_offsets = false;
    field::Field clock; // facts and zone, by which reports show times

    // "2026-04-14 22:15:03+02:00", "22:15:03" where there is no date; says so where it is no time of
    // our day.
    [[nodiscard]] std::string time_of(const ReadRow& row) const;
    // "52.0000073, 10.0000146" in degrees, or metres; says so where there is none.
    [[nodiscard]] std::string place_of(const ReadRow& row) const;
    [[nodiscard]] const ReadRow* first_good() const; // null where there is none
};

// By the field audit's own reader; `most`: rows.
[[nodiscard]] Result<Reading> read_as(const TableLook& look, const field::Mapping& mapping,
                                      std::size_t most = looked_at_bytes);

} // namespace dropledger::station
