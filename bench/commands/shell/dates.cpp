#include "bench/commands/shell/dates.hpp"

#include <fmt/chrono.h>
#include <fmt/format.h>

#include <chrono>

namespace dropledger::cli {

std::string now_utc() {
    return fmt::format("{:%Y-%m-%dT%H:%M:%SZ}", fmt::gmtime(std::chrono::system_clock::to_time_t(
                                                    std::chrono::system_clock::now())));
}

std::string today_utc() {
    return now_utc().substr(0, 10);
}

std::string years_later(const std::string& day, int years) {
    const std::string rest = day.substr(4) == "-02-29" ? "-02-28" : day.substr(4);
    return fmt::format("{:04}{}", std::stoi(day.substr(0, 4)) + years, rest);
}

} // namespace dropledger::cli
