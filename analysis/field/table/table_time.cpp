#include "analysis/field/table/table_time.hpp"

#include "analysis/base/dates.hpp"
#include "analysis/base/text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <string>
#include <vector>

namespace dropledger::field {

namespace {

// Seconds since 1970 from a count whose unit its size tells: 1e11 s is the year 5138.
std::optional<TableTime> from_number(double value) {
    if (value > 1e11) {
        double seconds = value / 1e3;
        while (seconds > 1e11)
            seconds /= 1e3;
        return TableTime{.seconds = seconds};
    }
    if (value < -1e11)
        return std::nullopt;
    return TableTime{.seconds = value};
}

std::optional<double> number_of(std::string_view text) {
    if (const auto value = parse_double(text))
        return value;
    std::string dotted(text);
    if (std::count(dotted.begin(), dotted.end(), ',') != 1)
        return std::nullopt;
    std::replace(dotted.begin(), dotted.end(), ',', '.');
    return parse_double(dotted);
}

// Numbers in their order, and what stands between the first two.
struct Parts {
    std::vector<std::int64_t> numbers;
    char between = '\0';
};

std::optional<Parts> parts_of(std::string_view text, std::string_view separators) {
    Parts parts;
    std::size_t at = 0;
    while (at <= text.size()) {
        const std::size_t end = std::min(text.find_first_of(separators, at), text.size());
        const auto number = parse_int(text.substr(at, end - at));
        if (!number || *number < 0)
            return std::nullopt;
        parts.numbers.push_back(*number);
        if (end == text.size())
            return parts;
        if (parts.between == '\0')
            parts.between = text[end];
        at = end + 1;
    }
    return std::nullopt;
}

struct Date {
    std::string text; // YYYY-MM-DD
    bool ambiguous = false;
    DateOrder shows = DateOrder::unknown;
};

std::optional<Date> date_of(std::string_view text, DateOrder order) {
    const auto parts = parts_of(text, "./-");
    if (!parts || parts->numbers.size() != 3)
        return std::nullopt;
    std::int64_t year = parts->numbers[2];
    std::int64_t month = parts->numbers[1];
    std::int64_t day = parts->numbers[0];
    Date date;
    if (day > 31) { // the year first
        std::swap(year, day);
    } else if (parts->between != '.') {
        date.shows = day > 12     ? DateOrder::day_first
                     : month > 12 ? DateOrder::month_first
                                  : DateOrder::unknown;
        date.ambiguous = date.shows == DateOrder::unknown && order == DateOrder::unknown;
        const DateOrder used = date.shows == DateOrder::unknown ? order : date.shows;
        if (used == DateOrder::month_first)
            std::swap(day, month);
    }
    if (year < 100)
        year += 2000;
    date.text = fmt::format("{:04}-{:02}-{:02}", year, month, day);
    return date;
}

// "22:15", "22:15:03,5", "10:15:03 PM" in seconds.
std::optional<double> seconds_of_day(std::string_view text) {
    std::string clock = lower(trim(text));
    const bool pm = clock.ends_with("pm");
    const bool am = clock.ends_with("am");
    if (am || pm)
        clock = std::string(trim(std::string_view(clock).substr(0, clock.size() - 2)));
    std::array<double, 3> parts{};
    const auto fields = split(clock, ':');
    if (fields.size() < 2 || fields.size() > 3)
        return std::nullopt;
    for (std::size_t i = 0; i < fields.size(); ++i) {
        const auto number = number_of(fields[i]);
        if (!number || *number < 0.0 || *number > (i == 0 ? 24.0 : 60.999))
            return std::nullopt;
        parts.at(i) = *number;
    }
    if (pm && parts[0] < 12.0)
        parts[0] += 12.0;
    if (am && parts[0] >= 12.0)
        parts[0] -= 12.0;
    return parts[0] * 3600.0 + parts[1] * 60.0 + parts[2];
}

std::optional<TableTime> from_clock(std::string_view text, const TimeRules& rules) {
    const std::size_t cut = text.find_first_of(" T");
    const bool clock_only = text.find(':') < cut;
    if (clock_only) {
        const auto seconds = seconds_of_day(text);
        return seconds ? std::optional(TableTime{.seconds = *seconds, .has_date = false})
                       : std::nullopt;
    }
    std::string_view day = text.substr(0, cut);
    if (day.ends_with(','))
        day.remove_suffix(1);
    const auto date = date_of(day, rules.order);
    const auto seconds =
        cut == std::string_view::npos ? std::optional(0.0) : seconds_of_day(text.substr(cut + 1));
    const auto midnight = date ? parse_day(date->text) : std::nullopt;
    if (!midnight || !seconds)
        return std::nullopt;
    return TableTime{.seconds = static_cast<double>(*midnight) * 86'400.0 + *seconds,
                     .has_date = true,
                     .is_local = true,
                     .ambiguous = date->ambiguous,
                     .shows = date->shows};
}

} // namespace

namespace {

// "+02:00" at the end, in minutes.
std::optional<std::int64_t> zone_of(std::string_view text) {
    if (text.size() < 6 || text[text.size() - 3] != ':')
        return std::nullopt;
    const char sign = text[text.size() - 6];
    const auto hours = parse_int(text.substr(text.size() - 5, 2));
    const auto minutes = parse_int(text.substr(text.size() - 2));
    if ((sign != '+' && sign != '-') || !hours || !minutes)
        return std::nullopt;
    return (sign == '-' ? -1 : 1) * (60 * *hours + *minutes);
}

} // namespace

std::optional<TableTime> parse_table_time(std::string_view text, const TimeRules& rules) {
    if (const auto number = number_of(text))
        return from_number(*number);
    if (const auto time = parse_rfc3339(text, 0)) {
        const auto zone = zone_of(text);
        const bool is_utc = text.ends_with('Z') || text.ends_with('z');
        return TableTime{.seconds = *time, .is_local = !zone && !is_utc, .zone_minutes = zone};
    }
    return from_clock(text, rules);
}

} // namespace dropledger::field
