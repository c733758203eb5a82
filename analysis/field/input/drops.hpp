// The commanded drops of a field, as read from tables: by pass and row, in drop order.
//
// Assumes: one row of the table per drop, in any order; where its target is 0 none was commanded, and
// it is left out. Memory: about ten bytes a drop.
// Units: in the names; a longitude may lie beyond 180 degrees where the fields lie on both sides of
// the date line (`wrapped`). Undefined when: a row cannot be read: it is counted with its line and
// reason, and kept out. A time that cannot be read costs the time, a place that cannot be the place
// (it is put between its neighbours). Source: field CSV (columns time, pass, row, drop, lat, lon or
// east_m, north_m, target, seen, alert, offset_mm, field).
#pragma once

#include "analysis/base/readers/byte_source.hpp"
#include "analysis/field/input/line.hpp"
#include "analysis/field/table/answers.hpp"
#include "analysis/field/table/facts.hpp"
#include "analysis/field/table/mapping.hpp"

#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

namespace dropledger::field {

struct BadRow {
    std::uint64_t line = 0;
    std::string reason;
};

struct Field {
    std::map<LineKey, Line> lines; // each sorted by drop, each drop once
    std::int64_t drops = 0;
    std::int64_t rows_bad = 0;
    std::vector<BadRow> bad_samples; // the first ones
    bool geographic = true;
    bool has_time = true;
    bool has_alerts = true;
    bool has_offsets = false;
    int gate = 0;                                  // that saw the seeds: 0 is the units' own sensor
    std::set<LineKey> gate_blocked;                // where the gate reported itself blocked
    std::map<std::int64_t, std::string> units;     // by row, where the input says
    std::map<std::int64_t, std::string> row_names; // where rows have names instead of numbers
    std::map<std::int64_t, std::string> pass_names; // likewise
    std::map<std::int64_t, std::string> field_of;   // by pass, where the input says
    std::string crop;                               // where the input says
    std::map<LineKey, std::int64_t> lost; // drops without a row in the table, see lacking.hpp
    std::vector<std::string> notes;
    Facts facts;
    std::optional<TimeZone> zone; // that times are shown in, where one was said

    [[nodiscard]] std::int64_t lost_drops() const; // of all lines

    // A time as a clock there would show it, in seconds; and what clock that is: the zone said, else
    // the one that the table states, its own clock where it states none, else UTC.
    [[nodiscard]] double clock_s(double time_s) const;
    [[nodiscard]] std::string clock_name() const;
    // "2026-04-14T22:15:03+02:00"; empty where the time is none of our day.
    [[nodiscard]] std::string date_and_time(double time_s) const;

    // As the input calls it.
    [[nodiscard]] std::string row_name(std::int64_t row) const;
    [[nodiscard]] std::string pass_name(std::int64_t pass) const;
};

inline constexpr std::size_t bad_samples_kept = 20;

struct Table {
    ByteSource* source = nullptr;
    std::string file;
};

// Fails where nothing can be read (no header, a column missing, no good row at all), and where the
// tables may mean two things that only the user can tell apart: the error names the questions.
[[nodiscard]] Result<Field> read_field(const std::vector<Table>& tables, const Mapping& mapping,
                                       const Answers& answers = {});

void add_bad(Field& field, std::uint64_t line, std::string reason);

// Sorts the drops, keeps the first of each and counts the others as bad rows; notes what the field
// lacks.
void settle(Field& field, std::string_view source_has, const Answers& answers = {});

// Between -180 and 180 degrees again.
[[nodiscard]] Place wrapped(const Place& at, bool geographic);

// Seconds since 1970 from RFC 3339 or a number; a time without zone is taken `utc_offset_minutes`
// ahead of UTC.
[[nodiscard]] std::optional<double> parse_time(std::string_view text,
                                               std::int64_t utc_offset_minutes);

} // namespace dropledger::field
