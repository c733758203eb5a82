#include "analysis/report/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::report {

namespace {

constexpr int most_decimals = 4;

int decimals_without_interval(Unit unit) {
    switch (unit) {
    case Unit::percent:
    case Unit::millimetres:
    case Unit::per_metre:
        return 1;
    case Unit::ratio:
        return 2;
    }
    throw BrokenInvariant("a unit without decimals");
}

// The digits that keep an end of the interval from looking like the limit it misses.
int decimals_against(const statistics::Estimate& estimate, double limit, Unit unit) {
    int decimals = decimals_of(estimate, unit);
    if (!estimate.interval)
        return decimals;
    const auto looks_equal = [&](double end) {
        return end != limit && number(end, unit, decimals) == number(limit, unit, decimals);
    };
    while (decimals < most_decimals &&
           (looks_equal(estimate.interval->low) || looks_equal(estimate.interval->high)))
        ++decimals;
    return decimals;
}

std::string interval_words(const statistics::Estimate& estimate, Unit unit, int decimals) {
    if (!estimate.interval)
        return "";
    return fmt::format("{} to {}", number(estimate.interval->low, unit, decimals),
                       with_unit(estimate.interval->high, unit, decimals));
}

std::string trimmed_number(double value) {
    std::string text = fmt::format("{:.4f}", value);
    text.erase(text.find_last_not_of('0') + 1);
    if (text.ends_with('.'))
        text.pop_back();
    return text == "-0" ? "0" : text;
}

// Metres of travel for so many more drops (line mode: segments).
std::optional<double> metres_of(const AuditReport& report, std::int64_t more) {
    const bool line = report.setup.mode == ledger::Mode::line;
    const std::optional<std::int64_t> step_um =
        line ? std::optional(report.profile.segment_um) : report.setup.spacing_um;
    if (!step_um)
        return std::nullopt;
    return static_cast<double>(more) * static_cast<double>(*step_um) / 1e6;
}

std::optional<double> speed_mps(const AuditReport& report) {
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

} // namespace

double displayed(double value, Unit unit) {
    return unit == Unit::percent ? value * 100.0 : value;
}

std::string_view symbol_of(Unit unit) {
    switch (unit) {
    case Unit::percent:
        return "%";
    case Unit::millimetres:
        return "mm";
    case Unit::per_metre:
        return "/m";
    case Unit::ratio:
        return "";
    }
    throw BrokenInvariant("a unit without a symbol");
}

int decimals_of(const statistics::Estimate& estimate, Unit unit) {
    if (!estimate.interval)
        return decimals_without_interval(unit);
    const double half = displayed(estimate.interval->high - estimate.interval->low, unit) / 2.0;
    if (!(half > 0.0) || !std::isfinite(half))
        return decimals_without_interval(unit);
    return std::clamp(1 - static_cast<int>(std::floor(std::log10(half))), 0, most_decimals);
}

std::string number(double value, Unit unit, int decimals) {
    std::string text = fmt::format("{:.{}f}", displayed(value, unit), decimals);
    if (text.starts_with('-') && text.find_first_of("123456789") == std::string::npos)
        text.erase(0, 1);
    return text;
}

std::string with_unit(double value, Unit unit, int decimals) {
    const std::string_view symbol = symbol_of(unit);
    return number(value, unit, decimals) + (symbol.empty() ? "" : " ") + std::string(symbol);
}

std::string value_words(const statistics::Estimate& estimate, Unit unit) {
    return with_unit(estimate.value, unit, decimals_of(estimate, unit));
}

std::string interval_words(const statistics::Estimate& estimate, Unit unit) {
    return interval_words(estimate, unit, decimals_of(estimate, unit));
}

std::string percent_words(double share) {
    return trimmed_number(share * 100.0) + " %";
}

std::string length_words(std::int64_t length_um) {
    const double mm = static_cast<double>(length_um) / 1000.0;
    if (std::abs(mm) < 10'000.0)
        return trimmed_number(mm) + " mm";
    return fmt::format("{:.1f} m", mm / 1000.0);
}

std::string grouped(std::int64_t count) {
    std::string text = fmt::format("{}", count);
    const std::size_t first = text.starts_with('-') ? 1 : 0;
    for (std::size_t at = text.size(); at > first + 3;)
        text.insert(at -= 3, 1, ',');
    return text;
}

std::string counted(std::uint64_t count, std::string_view thing) {
    return fmt::format("{} {}{}", grouped(static_cast<std::int64_t>(count)), thing,
                       count == 1 ? "" : "s");
}

std::string p_words(double p) {
    return p < 0.0001 ? "below 0.0001" : fmt::format("{:.{}f}", p, p < 0.01 ? 4 : 3);
}

std::string limit_words(const verdict::Limit& limit) {
    const Unit unit = words_of(limit.name).unit;
    const std::string_view symbol = symbol_of(unit);
    const std::string value = trimmed_number(displayed(limit.value, unit)) +
                              (symbol.empty() ? "" : " ") + std::string(symbol);
    switch (limit.sense) {
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
    const Unit unit = words_of(criterion.limit.name).unit;
    const int decimals = decimals_against(*criterion.estimate, criterion.limit.value, unit);
    const std::string value = with_unit(criterion.estimate->value, unit, decimals);
    if (!criterion.estimate->interval)
        return value + ", no interval";
    return fmt::format("{}, {} interval {}", value,
                       percent_words(criterion.estimate->confidence.level()),
                       interval_words(*criterion.estimate, unit, decimals));
}

std::optional<double> more_minutes(const AuditReport& report, const verdict::Criterion& criterion) {
    const auto metres = metres_of(report, criterion.more_drops);
    const auto speed = speed_mps(report);
    if (criterion.more_drops <= 0 || !metres || !speed || report.from_spacings)
        return std::nullopt;
    return *metres / *speed / 60.0;
}

std::string more_drops_words(const AuditReport& report, const verdict::Criterion& criterion) {
    if (criterion.more_drops <= 0)
        return "";
    const char* const unit = report.from_spacings                      ? "spacing"
                             : report.setup.mode == ledger::Mode::line ? "segment"
                                                                       : "drop";
    const std::string what = "about " + grouped(criterion.more_drops) + " more " + unit +
                             (criterion.more_drops == 1 ? "" : "s");
    const auto minutes = more_minutes(report, criterion);
    return minutes ? fmt::format("{} ({} at this speed)", what, duration_words(60.0 * *minutes))
                   : what;
}

} // namespace dropledger::report
