#include "analysis/base/text.hpp"
#include "analysis/field/input/drops.hpp"

#include <chrono>

namespace dropledger::field {

namespace {

std::optional<int> digits(std::string_view text, std::size_t at, std::size_t count) {
    if (at + count > text.size())
        return std::nullopt;
    int value = 0;
    for (const char c : text.substr(at, count)) {
        if (c < '0' || c > '9')
            return std::nullopt;
        value = value * 10 + (c - '0');
    }
    return value;
}

std::optional<double> days_since_epoch(std::string_view text) {
    const auto year = digits(text, 0, 4);
    const auto month = digits(text, 5, 2);
    const auto day = digits(text, 8, 2);
    if (!year || !month || !day || text[4] != '-' || text[7] != '-')
        return std::nullopt;
    const std::chrono::year_month_day date{std::chrono::year{*year},
                                           std::chrono::month{static_cast<unsigned>(*month)},
                                           std::chrono::day{static_cast<unsigned>(*day)}};
    if (!date.ok())
        return std::nullopt;
    return static_cast<double>(std::chrono::sys_days{date}.time_since_epoch().count());
}

// "Z", "+02:00" or nothing (then `local`), in minutes ahead of UTC.
std::optional<double> zone_minutes(std::string_view text, std::int64_t local) {
    if (text.empty())
        return static_cast<double>(local);
    if (text == "Z" || text == "z")
        return 0.0;
    const auto hours = digits(text, 1, 2);
    const auto minutes = digits(text, 4, 2);
    if (text.size() != 6 || text[3] != ':' || !hours || !minutes || *hours > 23 || *minutes > 59 ||
        (text[0] != '+' && text[0] != '-'))
        return std::nullopt;
    return (text[0] == '-' ? -1.0 : 1.0) * (60.0 * *hours + *minutes);
}

std::optional<double> seconds_of_day(std::string_view text, std::int64_t local) {
    const auto hour = digits(text, 0, 2);
    const auto minute = digits(text, 3, 2);
    const auto second = digits(text, 6, 2);
    if (!hour || !minute || !second || text[2] != ':' || text[5] != ':' || *hour > 23 ||
        *minute > 59 || *second > 60)
        return std::nullopt;
    std::size_t end = 8;
    double fraction = 0.0;
    if (end < text.size() && text[end] == '.') {
        const std::size_t stop =
            std::min(text.find_first_not_of("0123456789", end + 1), text.size());
        const auto part = parse_double(std::string("0").append(text.substr(end, stop - end)));
        if (!part || stop == end + 1)
            return std::nullopt;
        fraction = *part;
        end = stop;
    }
    const auto zone = zone_minutes(text.substr(end), local);
    if (!zone)
        return std::nullopt;
    return 3600.0 * *hour + 60.0 * (*minute - *zone) + *second + fraction;
}

} // namespace

std::optional<double> parse_time(std::string_view text, std::int64_t utc_offset_minutes) {
    if (const auto number = parse_double(text))
        return number;
    if (text.size() < 19 || (text[10] != 'T' && text[10] != 't' && text[10] != ' '))
        return std::nullopt;
    const auto days = days_since_epoch(text);
    const auto seconds = seconds_of_day(text.substr(11), utc_offset_minutes);
    if (!days || !seconds)
        return std::nullopt;
    return *days * 86400.0 + *seconds;
}

} // namespace dropledger::field
