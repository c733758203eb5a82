#include "tests/analysis/audit/sibling_machines.hpp"

#include "analysis/audit/siblings.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <utility>

namespace dropledger::testing {

namespace {

using Random = std::mt19937_64;
using audit::ChannelReport;

constexpr int drops = 500;
constexpr double scatter_um = 8'000.0;
const Confidence ninety_five{0.95};

double uniform(Random& random) {
    return static_cast<double>(random() >> 11U) * 0x1p-53;
}

ChannelReport channel_of(int number, const InventedUnit& unit, Random& random) {
    std::normal_distribution<double> normal;
    measures::EntryTally entries{ledger::Mode::single};
    measures::DependentSeries errors;
    const double begins = unit.miss / (1.0 - unit.miss) / unit.row;
    bool miss = uniform(random) < unit.miss;
    double wander = normal(random);
    for (int drop = 0; drop < drops; ++drop) {
        miss =
            uniform(random) < (unit.row > 1.0 ? (miss ? 1.0 - 1.0 / unit.row : begins) : unit.miss);
        wander = unit.memory * wander + std::sqrt(1.0 - unit.memory * unit.memory) * normal(random);
        ledger::Entry entry;
        entry.seeds = miss ? 0 : uniform(random) < unit.multiple ? 2 : 1;
        entries.add(entry);
        if (!miss)
            errors.add(std::llround(1000.0 * unit.offset_mm + scatter_um * wander));
    }
    ChannelReport channel;
    channel.channel = number;
    audit::CommandedDrops& got = *channel.drops();
    got.table = entries.table();
    std::get<audit::SingleDrops>(channel.results).shares = entries.single_shares(ninety_five);
    got.misses_independence = entries.misses_independence();
    got.multiples_independence = entries.multiples_independence();
    measures::PlacementResult placement;
    placement.bias_mm = measures::mean_of(errors, "mean", ninety_five);
    placement.bias_mm->value /= 1000.0;
    placement.bias_law_um.emplace(*errors.dependence());
    got.placement = placement;
    return channel;
}

ChannelReport line_of(int number, Random& random) {
    constexpr double length_mm = 100.0 * (drops + 1);
    std::vector<double> places;
    for (double parent = -100.0; parent < length_mm;
         parent -= 50.0 * std::log(1.0 - uniform(random)))
        for (int child = std::poisson_distribution<int>{5.0}(random); child > 0; --child)
            places.push_back(parent + 60.0 * uniform(random));
    std::sort(places.begin(), places.end());
    measures::LineTally line{100'000};
    for (const double place : places)
        if (place >= 0.0 && place <= length_mm)
            line.add(std::llround(1000.0 * place), 1);
    ChannelReport channel;
    channel.channel = number;
    channel.results = line.result(100'000, ninety_five);
    return channel;
}

} // namespace

std::vector<ChannelReport> machine(const std::vector<InventedUnit>& units, std::uint64_t seed) {
    Random random{seed};
    std::vector<ChannelReport> channels;
    for (const InventedUnit& unit : units)
        channels.push_back(channel_of(static_cast<int>(channels.size()), unit, random));
    return channels;
}

std::vector<ChannelReport> machine_of_lines(int units, std::uint64_t seed) {
    Random random{seed};
    std::vector<ChannelReport> channels;
    for (int unit = 0; unit < units; ++unit)
        channels.push_back(line_of(unit, random));
    return channels;
}

std::vector<Alarms> false_alarms(int machines) {
    // Nothing is too small to be named here: what the test itself lets through.
    const verdict::SiblingDifference any{.share = 0.0, .mm = 0.0};
    struct Case {
        std::string name;
        std::vector<InventedUnit> units;
    };
    const std::vector<Case> cases{
        {"misses 2 %, multiples 2 %", std::vector<InventedUnit>(6)},
        {"misses 0.5 %, multiples 0.5 %",
         std::vector<InventedUnit>(6, InventedUnit{.miss = 0.005, .multiple = 0.005})},
        {"misses 5 % in rows of 2.5",
         std::vector<InventedUnit>(6, InventedUnit{.miss = 0.05, .row = 2.5})},
        {"errors correlated 0.6", std::vector<InventedUnit>(6, InventedUnit{.memory = 0.6})},
        {"errors correlated 0.9", std::vector<InventedUnit>(6, InventedUnit{.memory = 0.9})},
        {"lines in clusters", {}}};
    std::vector<Alarms> all;
    for (const Case& one : cases) {
        Alarms found{.name = one.name, .machines = machines};
        for (int number = 1; number <= machines; ++number) {
            const auto seed = static_cast<std::uint64_t>(number);
            const auto channels =
                one.units.empty() ? machine_of_lines(6, seed) : machine(one.units, seed);
            found.alarms += audit::compare_siblings(channels, any).unlike.empty() ? 0 : 1;
        }
        all.push_back(found);
    }
    return all;
}

std::vector<Power> powers(int machines) {
    const verdict::SiblingDifference any{.share = 0.0, .mm = 0.0};
    std::vector<std::pair<std::string, InventedUnit>> odd;
    for (const double memory : {0.0, 0.6, 0.9})
        for (const double off_mm : {2.5, 4.0, 6.0, 10.0})
            odd.emplace_back(fmt::format("{} mm off, errors correlated {}", off_mm, memory),
                             InventedUnit{.offset_mm = 3.0 + off_mm, .memory = memory});
    for (const double miss : {0.04, 0.06, 0.10})
        odd.emplace_back(fmt::format("misses {:g} % for 2 %", 100.0 * miss),
                         InventedUnit{.miss = miss});
    std::vector<Power> all;
    for (const auto& [name, unit] : odd) {
        Power found{.name = name, .machines = machines};
        std::vector<InventedUnit> units(6, InventedUnit{.memory = unit.memory});
        units[2] = unit;
        for (int number = 1; number <= machines; ++number) {
            const auto channels = machine(units, static_cast<std::uint64_t>(number));
            const auto names = [&](const verdict::SiblingDifference& least) {
                const auto unlike = audit::compare_siblings(channels, least).unlike;
                return std::find(unlike.begin(), unlike.end(), 2) != unlike.end() ? 1 : 0;
            };
            found.by_profile += names({});
            found.at_all += names(any);
        }
        all.push_back(found);
    }
    return all;
}

} // namespace dropledger::testing
