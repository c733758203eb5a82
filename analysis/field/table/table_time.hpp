// Times as tables write them, in seconds since 1970.
//
// Understood: RFC 3339 and its relatives (2026-04-14 22:15), days first with points (14.04.2026
// 22:15:03), slashes and dashes either way round, months first only where the table shows it or the mapping
// says so, 12-hour clocks; seconds, milliseconds, microseconds or nanoseconds since 1970 by their
// size; a time of day without date (22:15:03). A decimal comma is a decimal point. A time without zone
// is given as if it were UTC, and said to be local.
// Undefined when: the text is none of these: std::nullopt.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

namespace dropledger::field {

enum class DateOrder { unknown, day_first, month_first };

struct TimeRules {
    DateOrder order = DateOrder::unknown; // of dates with slashes or dashes
};

struct TableTime {
    double seconds = 0.0;
    bool has_date = true;
    bool is_local = false;  // it has a date, and states no zone
    bool ambiguous = false; // with slashes or dashes, and both ways possible: day first
    std::optional<std::int64_t> zone_minutes{}; // that it states to be ahead of UTC
    DateOrder shows = DateOrder::unknown;       // what a date that goes one way only shows
};

[[nodiscard]] std::optional<TableTime> parse_table_time(std::string_view text,
                                                        const TimeRules& rules);

} // namespace dropledger::field
