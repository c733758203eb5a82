#include "analysis/base/dates.hpp"

#include "analysis/base/text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>

namespace dropledger {

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

std::optional<std::int64_t> parse_day(std::string_view text) {
    const auto year = digits(text, 0, 4);
    const auto month = digits(text, 5, 2);
    const auto day = digits(text, 8, 2);
    if (text.size() != 10 || !year || !month || !day || text[4] != '-' || text[7] != '-')
        return std::nullopt;
    const std::chrono::year_month_day date{std::chrono::year{*year},
                                           std::chrono::month{static_cast<unsigned>(*month)},
                                           std::chrono::day{static_cast<unsigned>(*day)}};
    if (!date.ok())
        return std::nullopt;
    return std::chrono::sys_days{date}.time_since_epoch().count();
}

bool is_date(std::string_view text) {
    return parse_day(text).has_value();
}

std::optional<double> parse_rfc3339(std::string_view text, std::int64_t utc_offset_minutes) {
    if (text.size() < 19 || (text[10] != 'T' && text[10] != 't' && text[10] != ' '))
        return std::nullopt;
    const auto days = parse_day(text.substr(0, 10));
    const auto seconds = seconds_of_day(text.substr(11), utc_offset_minutes);
    if (!days || !seconds)
        return std::nullopt;
    return static_cast<double>(*days) * 86400.0 + *seconds;
}

std::string rfc3339(std::int64_t unix_s) {
    using namespace std::chrono;
    const sys_seconds whole{seconds{unix_s}};
    const auto day = floor<days>(whole);
    const year_month_day date{day};
    const hh_mm_ss clock{whole - day};
    return fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}Z", static_cast<int>(date.year()),
                       static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()),
                       clock.hours().count(), clock.minutes().count(), clock.seconds().count());
}

} // namespace dropledger
