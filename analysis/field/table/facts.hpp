// What a table turned out to hold, counted while it was read: the ground of every question and of
// the page's opening.
#pragma once

#include "analysis/field/table/table_time.hpp"

#include <cstdint>
#include <optional>
#include <string>

namespace dropledger::field {

struct Facts {
    std::int64_t rows = 0;            // of the tables
    std::int64_t seen_blank = 0;      // `seen` says nothing
    std::int64_t seen_none = 0;       // `seen` is 0
    std::int64_t seen_above = 0;      // more than `target`
    std::int64_t target_none = 0;     // `target` is 0
    std::int64_t duplicates = 0;      // the same pass, row and drop once more
    std::int64_t places_kept_out = 0; // 0,0, blank, or a jump that no machine drives
    std::int64_t alerts = 0;          // `alert` says that there was one …
    std::int64_t alert_words = 0;     // … by a word of the machine's own
    std::int64_t times_unread = 0;
    std::int64_t unknown_drops = 0; // drop numbers that lack within a pass
    std::int64_t filled_drops = 0;  // of them taken for silent, as the user said
    std::int64_t steps = 0;         // from one drop to the next of a pass …
    std::int64_t steps_of_one = 0;  // … whose numbers follow on each other
    std::int64_t still = 0;         // … at the very same place
    std::int64_t stretches_split =
        0;                        // passes whose numbers began anew, told apart by time and place
    std::int64_t titles = 0;      // lines above the header
    bool has_dates = true;        // times have a date
    bool dates_ambiguous = false; // with slashes or dashes: read day first
    DateOrder dates_show = DateOrder::unknown;
    std::optional<std::int64_t> zone_minutes; // that times state to be ahead of UTC
    bool times_local = false; // some state no zone, and none was said: the table's own clock
    std::int64_t times_doubtful =
        0;                // within the hour that comes twice, or not at all, as clocks change
    std::string encoding; // of the first table
};

} // namespace dropledger::field
