#include "analysis/report/words/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::report {

namespace {

// Metres of travel for so many more drops (line mode: segments).
std::optional<double> metres_of(const audit::AuditReport& report, std::int64_t more) {
    const bool line = report.setup.mode == ledger::Mode::line;
    const std::optional<std::int64_t> step_um =
        line ? std::optional(report.profile.segment_um) : report.setup.spacing_um;
    if (!step_um)
        return std::nullopt;
    return static_cast<double>(more) * static_cast<double>(*step_um) / 1e6;
}

std::optional<double> speed_mps(const audit::AuditReport& report) {
    const ledger::TravelExtent& travelled = report.travelled;
    if (travelled.duration_us > 0 && travelled.distance_um > 0)
        return static_cast<double>(travelled.distance_um) /
               static_cast<double>(travelled.duration_us);
    if (report.setup.speed_um_s)
        return static_cast<double>(*report.setup.speed_um_s) / 1e6;
    return std::nullopt;
}

std::string duration_words(double seconds) {
    if (seconds < 90.0)
        return fmt::format("{:.0f} s", std::ceil(seconds));
    const double minutes = seconds / 60.0;
    if (minutes < 120.0)
        return fmt::format("{:.0f} minutes", std::ceil(minutes));
    return fmt::format("{:.1f} hours", minutes / 60.0);
}

bool is_asked_for(const audit::AuditReport& report, const verdict::Criterion& criterion,
                  std::int64_t counted) {
    return criterion.more_drops == report.profile.least_drops - counted;
}

std::string unit_counted(const audit::AuditReport& report) {
    return report.from_spacings                      ? "spacing"
           : report.setup.mode == ledger::Mode::line ? "segment"
                                                     : "drop";
}

// 310 is 300: of numbers under ten nothing is left out.
std::int64_t by_first_digit(std::int64_t count) {
    std::int64_t power = 1;
    while (count / power >= 10)
        power *= 10;
    return (count + power / 2) / power * power;
}

std::string_view order_of(std::int64_t count) {
    const std::int64_t near_by = by_first_digit(count);
    return near_by < 100         ? "tens"
           : near_by < 1'000     ? "hundreds"
           : near_by < 10'000    ? "thousands"
           : near_by < 100'000   ? "tens of thousands"
           : near_by < 1'000'000 ? "hundreds of thousands"
                                 : "millions";
}

} // namespace

int decimals_against(const statistics::Estimate& estimate, double limit, Unit unit) {
    int decimals = decimals_of(estimate, unit);
    if (!estimate.interval)
        return decimals;
    const auto looks_equal = [&](double end) {
        return end != limit && number(end, unit, decimals) == number(limit, unit, decimals);
    };
    while (decimals < most_number_decimals &&
           (looks_equal(estimate.interval->low) || looks_equal(estimate.interval->high)))
        ++decimals;
    return decimals;
}

std::string limit_words(const verdict::Limit& limit) {
    const Unit unit = unit_of(limit.quantity);
    const std::string_view symbol = symbol_of(unit);
    const std::string value = trimmed_number(displayed(limit.value, unit)) +
                              (symbol.empty() ? "" : " ") + std::string(symbol);
    switch (limit.sense()) {
    case verdict::Sense::at_most:
        return "at most " + value;
    case verdict::Sense::at_least:
        return "at least " + value;
    case verdict::Sense::magnitude_at_most:
        return "between -" + value + " and +" + value;
    }
    throw BrokenInvariant("a limit without a sense");
}

std::string found_words(const verdict::Criterion& criterion) {
    if (!criterion.estimate)
        return "not defined";
    const Unit unit = unit_of(criterion.limit.quantity);
    const int decimals = decimals_against(*criterion.estimate, criterion.limit.value, unit);
    const std::string value = with_unit(criterion.estimate->value, unit, decimals);
    if (!criterion.estimate->interval)
        return value + ", no interval";
    return fmt::format("{}, {} interval {}", value,
                       percent_words(criterion.estimate->confidence.level()),
                       interval_words(*criterion.estimate, unit, decimals));
}

std::optional<double> more_minutes(const audit::AuditReport& report,
                                   const verdict::Criterion& criterion) {
    const auto metres = metres_of(report, criterion.more_drops);
    const auto speed = speed_mps(report);
    if (criterion.more_drops <= 0 || !metres || !speed || report.from_spacings)
        return std::nullopt;
    return *metres / *speed / 60.0;
}

bool can_tell_how_many(const audit::AuditReport& report, const verdict::Criterion& criterion,
                       std::int64_t counted) {
    constexpr std::int64_t most_times = 10;
    return criterion.more_drops <= most_times * counted || is_asked_for(report, criterion, counted);
}

std::string more_drops_words(const audit::AuditReport& report, const verdict::Criterion& criterion,
                             std::int64_t counted) {
    if (criterion.more_drops <= 0 || !can_tell_how_many(report, criterion, counted))
        return "";
    const std::string unit = unit_counted(report);
    const bool is_exact = is_asked_for(report, criterion, counted);
    if (!is_exact && criterion.more_drops > counted)
        return fmt::format("some {} of {}s more", order_of(criterion.more_drops), unit);
    verdict::Criterion rounded = criterion;
    if (!is_exact)
        rounded.more_drops = by_first_digit(criterion.more_drops);
    const std::string what =
        fmt::format("{}{} more {}{}", is_exact ? "" : "about ", grouped(rounded.more_drops), unit,
                    rounded.more_drops == 1 ? "" : "s");
    const auto minutes = more_minutes(report, rounded);
    return minutes ? fmt::format("{} ({} at this speed)", what, duration_words(60.0 * *minutes))
                   : what;
}

std::string deciding_words(const audit::AuditReport& report, const verdict::Criterion& criterion,
                           std::int64_t counted) {
    if (criterion.more_drops <= 0)
        return "";
    if (!can_tell_how_many(report, criterion, counted))
        return fmt::format(
            "it may take far more {}s than the {} so far; how many can't be told yet",
            unit_counted(report), grouped(counted));
    const std::string more = more_drops_words(report, criterion, counted);
    return is_asked_for(report, criterion, counted)
               ? "the profile asks for " + more
               : more + " would decide it in nine of ten such runs";
}

} // namespace dropledger::report
