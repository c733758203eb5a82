#include "analysis/base/dates.hpp"
#include "analysis/base/text.hpp"
#include "analysis/field/input/drops.hpp"

namespace dropledger::field {

std::optional<double> parse_time(std::string_view text, std::int64_t utc_offset_minutes) {
    if (const auto number = parse_double(text))
        return number;
    return parse_rfc3339(text, utc_offset_minutes);
}

} // namespace dropledger::field
