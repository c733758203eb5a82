// The wall clock as the files write it; UTC.
#pragma once

#include <string>

namespace dropledger::cli {

[[nodiscard]] std::string now_utc();   // RFC 3339
[[nodiscard]] std::string today_utc(); // YYYY-MM-DD

// The same day `years` after a YYYY-MM-DD day; 29 February becomes 28.
[[nodiscard]] std::string years_later(const std::string& day, int years);

} // namespace dropledger::cli
