#include "analysis/base/time_zone.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>

namespace dropledger {

namespace {

constexpr double hour_s = 3600.0;

} // namespace

std::int64_t TimeZone::minutes_at(double utc_s) const {
    const auto after = std::find_if(changes.begin(), changes.end(), [&](const Change& one) {
        return static_cast<double>(one.from_s) > utc_s;
    });
    return after == changes.begin() ? after->minutes : std::prev(after)->minutes;
}

double TimeZone::local_s(double utc_s) const {
    return utc_s + 60.0 * static_cast<double>(minutes_at(utc_s));
}

TimeZone::FromLocal TimeZone::from_local(double local_s, double before_s) const {
    constexpr double day_s = 24.0 * hour_s;
    constexpr double falls_back_s = 120.0; // rows may stand a little out of order
    const std::int64_t before = minutes_at(local_s - day_s);
    const std::int64_t behind = minutes_at(local_s + day_s);
    const double early_s = local_s - 60.0 * static_cast<double>(std::max(before, behind));
    const double late_s = local_s - 60.0 * static_cast<double>(std::min(before, behind));
    const bool early = this->local_s(early_s) == local_s;
    const bool late = this->local_s(late_s) == local_s;
    if (early != late || before == behind)
        return {early ? early_s : late_s, false};
    if (!early)
        return {local_s - 60.0 * static_cast<double>(before), true};
    const bool goes_on = before_s - early_s > falls_back_s && before_s - early_s < 2.0 * hour_s;
    return {goes_on ? late_s : early_s, true};
}

std::string offset_text(std::int64_t minutes) {
    return fmt::format("{}{:02}:{:02}", minutes < 0 ? '-' : '+', std::abs(minutes) / 60,
                       std::abs(minutes) % 60);
}

TimeZone fixed_zone(std::int64_t minutes) {
    return {"UTC" + offset_text(minutes), {{0, minutes}}};
}

} // namespace dropledger
