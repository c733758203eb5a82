// How a machine that names and writes things otherwise is read: its columns, units and separators.
//
// A mapping file is TOML:
//   separator = ";"            # one character, "\t" for a tabulator; told from the header where not given
//   decimal_comma = true
//   utm_zone = "33N"           # east_m and north_m are UTM: they become lat and lon
//   time_zone = "Europe/Berlin" # times without a zone are local; or utc_offset_minutes = 120
//   date_order = "month"       # 04/14/2026: month first; else the day, or what the table shows
//   [columns]                  # ours = theirs
//   pass = "Spur"
//   [units]                    # ours = unit theirs is in
//   offset_mm = "cm"
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/base/time_zone.hpp"
#include "analysis/field/table/table_time.hpp"

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace dropledger::field {

enum class Column {
    time,
    pass,
    row,
    drop,
    lat,
    lon,
    east_m,
    north_m,
    target,
    seen,
    alert,
    offset_mm,
    field
};
inline constexpr std::size_t column_count = 13;
inline constexpr std::array<std::string_view, column_count> column_names{
    "time",    "pass",   "row",  "drop",  "lat",       "lon",  "east_m",
    "north_m", "target", "seen", "alert", "offset_mm", "field"};

struct UtmZone {
    int zone = 0;
    bool north = true;
};

struct Mapping {
    std::optional<char> separator; // told from the header where it is not given
    bool decimal_comma = false;
    std::optional<UtmZone> utm;
    std::optional<std::string> zone_name;        // who reads the file finds out what it stands for
    std::optional<TimeZone> zone;                // of times that state none
    DateOrder date_order = DateOrder::unknown;   // of dates with slashes or dashes
    std::array<std::string, column_count> names; // theirs
    std::array<double, column_count> factors;    // theirs × factor = ours
    double time_zero_s = 0.0; // what their time 0 is, where it is counted in a spreadsheet's days

    Mapping();
};

// A unit that a column of theirs may be in: theirs × factor = ours.
struct ColumnUnit {
    std::string_view name;
    std::string_view of; // our column
    double factor;
};
[[nodiscard]] std::span<const ColumnUnit> column_units();

[[nodiscard]] Result<Mapping> parse_mapping(std::string_view text, const std::string& file);

} // namespace dropledger::field
