// Days and times as files write them: YYYY-MM-DD, and RFC 3339.
//
// Units: whole days and seconds since 1970-01-01 UTC.
// Undefined when: the text is not wholly such a day or time, or the calendar does not have it:
// std::nullopt. A leap second counts as the second after it.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace dropledger {

[[nodiscard]] std::optional<std::int64_t> parse_day(std::string_view text);
[[nodiscard]] bool is_date(std::string_view text);

// A time without zone is taken `utc_offset_minutes` ahead of UTC; a blank may stand for the T.
[[nodiscard]] std::optional<double> parse_rfc3339(std::string_view text,
                                                  std::int64_t utc_offset_minutes);

[[nodiscard]] std::string rfc3339(std::int64_t unix_s); // YYYY-MM-DDThh:mm:ssZ

} // namespace dropledger
