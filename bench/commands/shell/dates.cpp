#include "bench/commands/shell/dates.hpp"

#include "analysis/base/dates.hpp"

#include <fmt/chrono.h>
#include <fmt/format.h>

#include <ctime>

namespace dropledger::cli {

std::string now_utc() {
    return rfc3339(std::time(nullptr));
}

std::string today_utc() {
    return now_utc().substr(0, 10);
}

std::string local_words(const std::string& time) {
    const auto unix_s = parse_rfc3339(time, 0);
    if (!unix_s)
        return time;
    const std::tm here = fmt::localtime(static_cast<std::time_t>(*unix_s));
    const std::string zone = fmt::format("{:%z}", here);
    return fmt::format("{:%Y-%m-%d %H:%M} {}", here,
                       zone == "+0000" ? std::string("UTC") : "(UTC" + zone + ")");
}

std::string years_later(const std::string& day, int years) {
    const std::string rest = day.substr(4) == "-02-29" ? "-02-28" : day.substr(4);
    return fmt::format("{:04}{}", std::stoi(day.substr(0, 4)) + years, rest);
}

} // namespace dropledger::cli
