// How far local time is ahead of UTC, and since when: a zone as a table of changes.
//
// Units: seconds since 1970-01-01 UTC; local seconds are what a clock there would show, counted as if
// it were UTC. Undefined when: nothing; before the first change the first one holds.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace dropledger {

struct TimeZone {
    struct Change {
        std::int64_t from_s = 0;
        std::int64_t minutes = 0; // ahead of UTC
    };

    std::string name; // "Europe/Berlin", "UTC+02:00"
    std::vector<Change> changes{{}};

    [[nodiscard]] std::int64_t minutes_at(double utc_s) const;
    [[nodiscard]] double local_s(double utc_s) const;

    struct FromLocal {
        double utc_s = 0.0;
        bool doubtful = false; // the clock shows this twice that day, or leaves it out
    };
    // Of a time shown twice the later one where that goes on from `before_s`, the time before it (UTC);
    // of a time left out what a clock that was not set forward means.
    [[nodiscard]] FromLocal from_local(double local_s, double before_s) const;
};

[[nodiscard]] TimeZone fixed_zone(std::int64_t minutes);
// "+02:00"
[[nodiscard]] std::string offset_text(std::int64_t minutes);

} // namespace dropledger
