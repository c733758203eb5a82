#include "analysis/field/concentration.hpp"

#include "analysis/statistics/basics/distributions.hpp"
#include "analysis/statistics/basics/multiplicity.hpp"
#include "analysis/statistics/shares/clustering.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>

namespace dropledger::field {

namespace {

struct Slot {
    std::int64_t gaps = 0;
    std::int64_t chances =
        0; // drops behind which, or at the beginning of a pass with which, a gap can begin
};
using Slots = std::map<std::int64_t, Slot>;
using SlotOf =
    std::function<std::int64_t(const LineKey&, const std::vector<FieldDrop>&, std::size_t)>;
using Name = std::function<std::string(std::int64_t)>;

Slots count(const Field& field, const SlotOf& slot_of) {
    Slots slots;
    for (const auto& [key, packed] : field.lines) {
        const std::vector<FieldDrop> line = packed.drops();
        for (std::size_t i = 0; i < line.size(); ++i) {
            if (i > 0 && line[i - 1].silent())
                continue; // inside a gap none can begin
            Slot& slot = slots[slot_of(key, line, i)];
            ++slot.chances;
            slot.gaps += line[i].silent() ? 1 : 0;
        }
    }
    return slots;
}

void compare(const Slots& slots, const Name& name, std::vector<Concentration>& found) {
    Slot all;
    for (const auto& [id, slot] : slots) {
        all.gaps += slot.gaps;
        all.chances += slot.chances;
    }
    if (slots.size() < 2 || all.gaps == 0)
        return;
    std::vector<double> p_values;
    for (const auto& [id, slot] : slots) {
        const double share = static_cast<double>(slot.chances) / static_cast<double>(all.chances);
        p_values.push_back(
            slot.gaps == 0 ? 1.0 : statistics::binomial_sf(slot.gaps - 1, {all.gaps, share}));
    }
    const std::vector<double> adjusted = statistics::holm(p_values);
    std::size_t at = 0;
    for (const auto& [id, slot] : slots) {
        const double p = adjusted[at++];
        if (p <= 0.05)
            found.push_back(
                {.where = name(id),
                 .gaps = slot.gaps,
                 .expected = static_cast<double>(all.gaps) * static_cast<double>(slot.chances) /
                             static_cast<double>(all.chances),
                 .p_value = p});
    }
}

constexpr std::size_t end_drops = 10;

std::int64_t part_of_pass(std::size_t at, std::size_t size) {
    if (at < end_drops)
        return 0;
    return at + end_drops >= size ? 2 : 1;
}

std::string part_name(std::int64_t part) {
    if (part == 1)
        return "the middle of the passes";
    return fmt::format("the {} {} drops of the passes", part == 0 ? "first" : "last", end_drops);
}

} // namespace

std::vector<Concentration> concentrations(const Field& field, const std::vector<Gap>& gaps) {
    std::vector<Concentration> found;
    if (gaps.empty())
        return found;
    using Drops = std::vector<FieldDrop>;
    compare(
        count(field, [](const LineKey& key, const Drops&, std::size_t) { return key.row; }),
        [&](std::int64_t row) { return fmt::format("row {}", field.row_name(row)); }, found);
    compare(
        count(field, [](const LineKey& key, const Drops&, std::size_t) { return key.pass; }),
        [&](std::int64_t pass) { return fmt::format("pass {}", field.pass_name(pass)); }, found);
    compare(count(field, [](const LineKey&, const Drops& line,
                            std::size_t at) { return part_of_pass(at, line.size()); }),
            part_name, found);
    if (field.has_time)
        compare(
            count(field,
                  [&](const LineKey&, const Drops& line, std::size_t at) {
                      const double hours = std::floor(field.clock_s(line[at].time_s) / 3600.0);
                      return static_cast<std::int64_t>(hours - 24.0 * std::floor(hours / 24.0));
                  }),
            [&](std::int64_t hour) {
                return fmt::format("the hour from {:02}:00 ({})", hour, field.clock_name());
            },
            found);
    std::stable_sort(
        found.begin(), found.end(),
        [](const Concentration& a, const Concentration& b) { return a.p_value < b.p_value; });
    return found;
}

std::vector<GapLength> gap_lengths(const std::vector<LineReport>& lines,
                                   const std::vector<Gap>& gaps) {
    constexpr std::int64_t longest_class = 6;
    std::vector<GapLength> classes(longest_class);
    for (std::int64_t i = 0; i < longest_class; ++i)
        classes[static_cast<std::size_t>(i)].drops = i + 1;
    for (const Gap& gap : gaps)
        ++classes[static_cast<std::size_t>(std::min(gap.drops(), longest_class) - 1)].observed;
    for (const LineReport& line : lines) {
        const std::int64_t n = line.drops;
        const double share = static_cast<double>(line.silent) / static_cast<double>(n);
        const auto at_least = [&](std::int64_t length) {
            return statistics::expected_runs({.entries = n, .share = share, .length = length});
        };
        for (GapLength& one : classes)
            one.expected +=
                at_least(one.drops) - (one.drops < longest_class ? at_least(one.drops + 1) : 0.0);
    }
    return classes;
}

} // namespace dropledger::field
