#include "analysis/field/input/visits.hpp"

#include "analysis/field/input/ground.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::field {

namespace {

using Drops = std::vector<FieldDrop>;

// A pass and row number that came again: cut where the drop number falls back and the machine is
// somewhere or sometime else. Drops stand as they came.
std::vector<Drops> visits_of(const Drops& drops, bool geographic, bool has_time) {
    constexpr double elsewhere_m = 30.0;
    constexpr double later_s = 300.0;
    std::vector<Drops> visits(1);
    std::int64_t furthest = 0;
    for (const FieldDrop& drop : drops) {
        Drops& now = visits.back();
        if (!now.empty() && drop.drop <= furthest) {
            const FieldDrop& before = now.back();
            const bool moved = drop.has_place && before.has_place &&
                               flat_distance_m(before.at, drop.at, geographic) > elsewhere_m;
            if (moved || (has_time && std::abs(drop.time_s - before.time_s) > later_s)) {
                visits.emplace_back();
                furthest = drop.drop;
            }
        }
        furthest = visits.back().empty() ? drop.drop : std::max(furthest, drop.drop);
        visits.back().push_back(drop);
    }
    return visits;
}

// Whether one visit holds the other's drops once more: the same numbers, where and when they were.
bool is_copy(const Drops& visit, const Drops& before, bool geographic, bool has_time) {
    constexpr double same_m = 5.0;
    constexpr double same_s = 60.0;
    for (const FieldDrop& drop : before) {
        if (drop.drop != visit.front().drop)
            continue;
        const FieldDrop& again = visit.front();
        return flat_distance_m(drop.at, again.at, geographic) < same_m &&
               (!has_time || std::abs(drop.time_s - again.time_s) < same_s);
    }
    return false;
}

// Copies go back to what they are copies of.
std::vector<Drops> true_visits_of(const Drops& drops, bool geographic, bool has_time) {
    std::vector<Drops> visits;
    for (Drops& visit : visits_of(drops, geographic, has_time)) {
        const auto original = std::find_if(visits.begin(), visits.end(), [&](const Drops& before) {
            return is_copy(visit, before, geographic, has_time);
        });
        if (original == visits.end())
            visits.push_back(std::move(visit));
        else
            original->insert(original->end(), visit.begin(), visit.end());
    }
    return visits;
}

std::int64_t duplicates_in(Drops drops) {
    std::sort(drops.begin(), drops.end(), by_drop);
    std::int64_t found = 0;
    for (std::size_t i = 1; i < drops.size(); ++i)
        found += drops[i].drop == drops[i - 1].drop ? 1 : 0;
    return found;
}

struct Repeats {
    std::int64_t as_is = 0;
    std::int64_t once_split = 0;
};

Repeats repeats_of(const Field& field) {
    Repeats repeats;
    for (const auto& [key, line] : field.lines) {
        const Drops drops = line.drops();
        if (grows(drops))
            continue;
        const std::int64_t found = duplicates_in(drops);
        repeats.as_is += found;
        if (found > 0)
            for (const Drops& visit : true_visits_of(drops, field.geographic, field.has_time))
                repeats.once_split += duplicates_in(visit);
    }
    return repeats;
}

// Which stretch of a pass number a drop belongs to.
struct Visit {
    std::int64_t pass = 0;
    std::size_t time = 0;                                          // 0: the first
    friend auto operator<=>(const Visit&, const Visit&) = default; // NOLINT: as for LineKey
};

std::string visit_name(const Field& field, const Visit& visit) {
    const auto named = field.pass_names.find(visit.pass);
    const std::string pass =
        named == field.pass_names.end() ? fmt::format("{}", visit.pass) : named->second;
    return visit.time == 0 ? pass : fmt::format("{} ({})", pass, visit.time + 1);
}

// Numbers the stretches anew in the order in which they stand in the table.
void split_repeats(Field& field) {
    std::map<std::pair<Visit, std::int64_t>, Line> split;
    std::map<Visit, std::uint32_t> first_line;
    for (const auto& [key, line] : field.lines) {
        std::size_t time = 0;
        for (const Drops& visit : true_visits_of(line.drops(), field.geographic, field.has_time)) {
            const Visit which{key.pass, time++};
            const auto [known, first] = first_line.emplace(which, visit.front().line);
            if (!first)
                known->second = std::min(known->second, visit.front().line);
            split.emplace(std::pair{which, key.row}, Line(visit));
        }
    }
    std::vector<std::pair<std::uint32_t, Visit>> order;
    order.reserve(first_line.size());
    for (const auto& [visit, line] : first_line)
        order.emplace_back(line, visit);
    std::sort(order.begin(), order.end());
    std::map<Visit, std::int64_t> number;
    std::map<std::int64_t, std::string> names;
    std::map<std::int64_t, std::string> fields;
    for (const auto& [line, visit] : order) {
        const auto next = static_cast<std::int64_t>(number.size()) + 1;
        number[visit] = next;
        names[next] = visit_name(field, visit);
        field.facts.stretches_split += visit.time > 0 ? 1 : 0;
        if (const auto own = field.field_of.find(visit.pass); own != field.field_of.end())
            fields[next] = own->second;
    }
    field.lines.clear();
    for (auto& [key, line] : split)
        field.lines[{number.at(key.first), key.second}] = std::move(line);
    field.pass_names = std::move(names);
    field.field_of = std::move(fields);
}

} // namespace

bool by_drop(const FieldDrop& a, const FieldDrop& b) {
    return a.drop != b.drop ? a.drop < b.drop : a.line < b.line;
}

bool grows(const Drops& drops) {
    for (std::size_t i = 1; i < drops.size(); ++i)
        if (drops[i].drop <= drops[i - 1].drop)
            return false;
    return true;
}

void split_visits(Field& field) {
    constexpr std::int64_t few_percent = 50; // 2 %: one in fifty
    const Repeats repeats = repeats_of(field);
    if (repeats.as_is * few_percent > field.facts.rows && repeats.once_split * 4 < repeats.as_is)
        split_repeats(field);
}

} // namespace dropledger::field
