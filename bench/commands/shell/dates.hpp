// The wall clock as the files write it (UTC), and times as the person at the bench reads them.
#pragma once

#include <string>

namespace dropledger::cli {

[[nodiscard]] std::string now_utc();   // RFC 3339
[[nodiscard]] std::string today_utc(); // YYYY-MM-DD

// "2026-02-01 11:00 (UTC+0100)": in the zone of the machine; a text that is no time as it is.
[[nodiscard]] std::string local_words(const std::string& time);

// The same day `years` after a YYYY-MM-DD day; 29 February becomes 28.
[[nodiscard]] std::string years_later(const std::string& day, int years);

} // namespace dropledger::cli
