#include "analysis/statistics/trends/control_rules.hpp"

#include "analysis/base/enum_names.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

namespace dropledger::statistics {

namespace {

struct Stretch {
    std::size_t first = 0;
    std::size_t last = 0;
};

void add_merged(std::vector<Stretch>& stretches, Stretch found) {
    if (!stretches.empty() && found.first <= stretches.back().last)
        stretches.back().last = std::max(stretches.back().last, found.last);
    else
        stretches.push_back(found);
}

// `least` of any `window` values in a row beyond `line`; the stretch is from the first to the last
// of them.
struct ZoneRule {
    std::size_t least = 1;
    std::size_t window = 1;
    double line = 3.0;
};

// `z` with its sign turned for the lower side.
std::vector<Stretch> beyond(std::span<const double> z, const ZoneRule& rule, double side) {
    std::vector<Stretch> stretches;
    std::vector<std::size_t> outside;
    for (std::size_t i = 0; i < z.size(); ++i) {
        if (side * z[i] <= rule.line)
            continue;
        outside.push_back(i);
        if (outside.size() < rule.least)
            continue;
        const std::size_t first = outside[outside.size() - rule.least];
        if (i - first < rule.window)
            add_merged(stretches, {first, i});
    }
    return stretches;
}

// Runs of steps that continue each other; `least` counts values. Where a run breaks at step i - 1
// to i, the next begins at `restart`: with that step or after it.
template <class Continues, class Restart>
std::vector<Stretch> runs(std::size_t count, std::size_t least, Continues continues,
                          Restart restart) {
    std::vector<Stretch> stretches;
    std::size_t first = 0;
    for (std::size_t i = 1; i <= count; ++i) {
        if (i < count && continues(i, first))
            continue;
        if (i - first >= least)
            stretches.push_back({first, i - 1});
        if (i < count)
            first = restart(i);
    }
    return stretches;
}

std::vector<Stretch> trends(std::span<const double> z, double side) {
    return runs(
        z.size(), 6, [&](std::size_t i, std::size_t) { return side * (z[i] - z[i - 1]) > 0.0; },
        [](std::size_t i) { return i; });
}

std::vector<Stretch> alternations(std::span<const double> z) {
    const auto turns = [&](std::size_t i) {
        return (z[i] > z[i - 1] && z[i - 1] < z[i - 2]) || (z[i] < z[i - 1] && z[i - 1] > z[i - 2]);
    };
    return runs(
        z.size(), 14,
        [&](std::size_t i, std::size_t first) {
            return i == first + 1 ? z[i] != z[i - 1] : turns(i);
        },
        [&](std::size_t i) { return z[i] == z[i - 1] ? i : i - 1; });
}

// `before`: values that stand before the first of these.
std::string place(Stretch at, std::size_t before) {
    return at.first == at.last
               ? fmt::format("Value {}", before + at.first + 1)
               : fmt::format("Values {} to {}", before + at.first + 1, before + at.last + 1);
}

std::string zone_sentence(ControlRule rule, Stretch at, const std::string& where,
                          std::string_view side) {
    switch (rule) {
    case ControlRule::beyond_three_sigma:
        return fmt::format("{} {} more than 3 standard deviations {} the centre.", where,
                           at.first == at.last ? "lies" : "lie", side);
    case ControlRule::two_of_three:
        return fmt::format("{}: two of three in a row more than 2 standard deviations {} the "
                           "centre.",
                           where, side);
    case ControlRule::four_of_five:
        return fmt::format("{}: four of five in a row more than 1 standard deviation {} the "
                           "centre.",
                           where, side);
    case ControlRule::eight_on_one_side:
    case ControlRule::six_in_a_trend:
    case ControlRule::fourteen_alternating:
    case ControlRule::wide_moving_range:
        break;
    }
    return fmt::format("{}: {} in a row {} the centre.", where, at.last - at.first + 1, side);
}

struct Zone {
    ControlRule rule;
    ZoneRule counts;
};
constexpr Zone zones[] = {{ControlRule::beyond_three_sigma, {1, 1, 3.0}},
                          {ControlRule::two_of_three, {2, 3, 2.0}},
                          {ControlRule::four_of_five, {4, 5, 1.0}},
                          {ControlRule::eight_on_one_side, {8, 8, 0.0}}};

void find_zones(std::span<const double> z, double side, std::size_t before,
                std::vector<ControlSignal>& signals) {
    const std::string_view word = side > 0.0 ? "above" : "below";
    for (const Zone& zone : zones)
        for (const Stretch at : beyond(z, zone.counts, side))
            signals.push_back({zone.rule, at.first, at.last,
                               zone_sentence(zone.rule, at, place(at, before), word)});
}

void find_trends(std::span<const double> z, double side, std::size_t before,
                 std::vector<ControlSignal>& signals) {
    for (const Stretch at : trends(z, side))
        signals.push_back(
            {ControlRule::six_in_a_trend, at.first, at.last,
             fmt::format("{}: {} in a row, each {} than the one before.", place(at, before),
                         at.last - at.first + 1, side > 0.0 ? "higher" : "lower")});
}

constexpr std::array rule_names{
    EnumName{ControlRule::beyond_three_sigma, "beyond 3 sigma"},
    EnumName{ControlRule::two_of_three, "2 of 3 beyond 2 sigma"},
    EnumName{ControlRule::four_of_five, "4 of 5 beyond 1 sigma"},
    EnumName{ControlRule::eight_on_one_side, "8 in a row on one side"},
    EnumName{ControlRule::six_in_a_trend, "6 in a row rising or falling"},
    EnumName{ControlRule::fourteen_alternating, "14 in a row alternating"},
    EnumName{ControlRule::wide_moving_range, "moving range beyond its limit"}};
static_assert(names_all<rule_names>());

} // namespace

std::string_view rule_name(ControlRule rule) {
    return row_in(rule_names, rule).key;
}

std::vector<ControlSignal> control_signals(std::span<const double> z, std::size_t before) {
    std::vector<ControlSignal> signals;
    for (const double side : {1.0, -1.0}) {
        find_zones(z, side, before, signals);
        find_trends(z, side, before, signals);
    }
    for (const Stretch at : alternations(z))
        signals.push_back({ControlRule::fourteen_alternating, at.first, at.last,
                           fmt::format("{}: {} in a row that go up and down in turn.",
                                       place(at, before), at.last - at.first + 1)});
    std::stable_sort(signals.begin(), signals.end(),
                     [](const ControlSignal& a, const ControlSignal& b) {
                         return a.first != b.first ? a.first < b.first : a.rule < b.rule;
                     });
    return signals;
}

} // namespace dropledger::statistics
