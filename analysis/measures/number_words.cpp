#include "analysis/measures/number_words.hpp"

#include "analysis/base/result.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger {

namespace {

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

} // namespace

std::string trimmed_number(double value) {
    std::string text = fmt::format("{:.4f}", value);
    text.erase(text.find_last_not_of('0') + 1);
    if (text.ends_with('.'))
        text.pop_back();
    return text == "-0" ? "0" : text;
}

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
    return std::clamp(1 - static_cast<int>(std::floor(std::log10(half))), 0, most_number_decimals);
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

std::string interval_words(const statistics::Estimate& estimate, Unit unit, int decimals) {
    if (!estimate.interval)
        return "";
    return fmt::format("{} to {}", number(estimate.interval->low, unit, decimals),
                       with_unit(estimate.interval->high, unit, decimals));
}

std::string interval_words(const statistics::Estimate& estimate, Unit unit) {
    return interval_words(estimate, unit, decimals_of(estimate, unit));
}

namespace {

// Of what stands before the point.
std::string with_groups(std::string text) {
    const std::size_t first = text.starts_with('-') ? 1 : 0;
    for (std::size_t at = std::min(text.find('.'), text.size()); at > first + 3;)
        text.insert(at -= 3, 1, ',');
    return text;
}

} // namespace

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
    return with_groups(fmt::format("{}", count));
}

std::string grouped(double value, int decimals) {
    return with_groups(fmt::format("{:.{}f}", value, decimals));
}

std::string counted(std::uint64_t count, std::string_view thing) {
    return fmt::format("{} {}{}", grouped(static_cast<std::int64_t>(count)), thing,
                       count == 1 ? "" : "s");
}

std::string p_words(double p) {
    return p < 0.0001 ? "below 0.0001" : fmt::format("{:.{}f}", p, p < 0.01 ? 4 : 3);
}

} // namespace dropledger
