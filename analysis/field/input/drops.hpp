// The commanded drops of a field, as read from a table: by pass and row, in drop order.
//
// Assumes: one row of the table per commanded drop, in any order.
// Memory: about 56 bytes a drop.
// Units: in the names; a place is longitude and latitude in degrees (WGS 84), or east and north in
// metres.
// Undefined when: a row cannot be read: it is counted with its line and reason, and kept out.
// Source: field CSV (columns time, pass, row, drop, lat, lon or east_m, north_m, target, seen,
// alert, offset_mm).
#pragma once

#include "analysis/base/readers/byte_source.hpp"
#include "analysis/field/input/mapping.hpp"

#include <compare>
#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

namespace dropledger::field {

struct Place {
    double x = 0.0; // longitude or east
    double y = 0.0; // latitude or north
};

struct FieldDrop {
    std::int64_t drop = 0;
    double time_s = 0.0; // since 1970; 0 where the table has no time
    Place at;
    std::uint32_t target = 1;
    std::uint32_t seen = 0;
    std::uint32_t line = 0; // of the table
    float offset_mm = 0.0F; // landing - commanded, where has_offset
    bool has_offset = false;
    bool alert = false;

    [[nodiscard]] bool silent() const { return seen == 0 && target > 0; }
};

struct LineKey {
    std::int64_t pass = 0;
    std::int64_t row = 0;
    friend auto operator<=>(const LineKey&, const LineKey&) =
        default; // NOLINT: clang-tidy 14 takes it for a null pointer
};

struct BadRow {
    std::uint64_t line = 0;
    std::string reason;
};

struct Field {
    std::map<LineKey, std::vector<FieldDrop>> lines; // each sorted by drop, each drop once
    std::int64_t drops = 0;
    std::int64_t rows_bad = 0;
    std::vector<BadRow> bad_samples; // the first ones
    bool geographic = true;
    bool has_time = true;
    bool has_alerts = true;
    bool has_offsets = false;
    int gate = 0;                              // that saw the seeds: 0 is the units' own sensor
    std::set<LineKey> gate_blocked;            // where the gate reported itself blocked
    std::map<std::int64_t, std::string> units; // by row, where the input says
    std::string crop;                          // likewise
    std::vector<std::string> notes;
};

inline constexpr std::size_t bad_samples_kept = 20;

// Fails where nothing can be read: no header, a column missing, no good row at all.
[[nodiscard]] Result<Field> read_field(ByteSource& source, const std::string& file,
                                       const Mapping& mapping);

// Sorts the drops, keeps the first of each and counts the others as bad rows; notes what the field
// lacks.
void settle(Field& field, std::string_view source_has); // "The table has"

// Seconds since 1970 from RFC 3339 or a number; a time without zone is taken `utc_offset_minutes`
// ahead of UTC.
[[nodiscard]] std::optional<double> parse_time(std::string_view text,
                                               std::int64_t utc_offset_minutes);

} // namespace dropledger::field
