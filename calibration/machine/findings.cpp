#include "calibration/machine/findings.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <map>

namespace dropledger::calibration {

namespace {

using droplog::GatePlace;
using droplog::name_of;

constexpr double least_off_mm = 3.0; // nobody sets a machine up better by hand
constexpr double alike = 1.0 / 3.0;  // of what they are off by
constexpr double little_seen = 0.75; // of the drops
constexpr int gates_of_a_channel = 2;

std::string name_of_unit(const FewDrops& unit) {
    return unit.unit.empty() ? fmt::format("Channel {}", unit.channel)
                             : fmt::format("{} (channel {})", unit.unit, unit.channel);
}

std::string channel_in_words(std::span<const FewDrops> units, int channel) {
    const auto found = std::find_if(units.begin(), units.end(),
                                    [&](const FewDrops& one) { return one.channel == channel; });
    return found == units.end() ? fmt::format("channel {}", channel)
                                : fmt::format("{} (channel {})", found->unit, channel);
}

// The channel on which a gate of this number saw most of a unit's seed.
std::optional<int> seen_on(const FewDrops& unit, int gate) {
    std::optional<int> best;
    std::int64_t most = unit.drops / 2; // dust and strays are fewer
    for (const auto& [where, seen] : unit.gates)
        if (where.second == gate && seen.pulses > most) {
            most = seen.pulses;
            best = where.first;
        }
    return best;
}

void find_plugs(std::span<const FewDrops> units, const FewDrops& unit, std::vector<Finding>& out) {
    std::map<int, std::vector<int>> gates_seeing; // by the channel that they stand for
    for (int gate = 0; gate < gates_of_a_channel; ++gate)
        if (const auto channel = seen_on(unit, gate); channel && *channel != unit.channel)
            gates_seeing[*channel].push_back(gate);
    for (const auto& [channel, gates] : gates_seeing) {
        const std::string which = std::ssize(gates) == gates_of_a_channel
                                      ? std::string{"both gates"}
                                      : fmt::format("gate {}", gates.front());
        out.push_back({FindingKind::plugged_elsewhere, unit.channel,
                       fmt::format("{} drops, and its seed is seen by {} of {}.",
                                   name_of_unit(unit), which, channel_in_words(units, channel)),
                       "Their plugs are swapped: gate or motor; put them right, or swap the two "
                       "units' serial numbers in the settings."});
    }
}

void find_silence(const FewDrops& unit, std::vector<Finding>& out) {
    const std::int64_t both[] = {unit.pulses(unit.channel, 0), unit.pulses(unit.channel, 1)};
    const std::int64_t most = std::max(both[0], both[1]);
    for (const auto& [gate, place] : unit.stated) {
        const std::int64_t own = both[gate];
        if (own == 0)
            out.push_back({FindingKind::gate_silent, unit.channel,
                           fmt::format("Gate {} of {} saw nothing in {} drops.", gate,
                                       name_of_unit(unit), unit.drops),
                           "Look at its plug, its window and its supply; or the settings name a "
                           "gate that is not there."});
        else if (static_cast<double>(own) < little_seen * static_cast<double>(unit.drops) &&
                 own < most)
            out.push_back({FindingKind::gate_sees_little, unit.channel,
                           fmt::format("Gate {} of {} saw {} of {} drops, the other gate {}.", gate,
                                       name_of_unit(unit), own, unit.drops, most),
                           "Clean emitter and receiver, and see that the seed falls through the "
                           "middle of the beam."});
    }
}

void find_places(const FewDrops& unit, std::vector<Finding>& out) {
    for (const auto& [where, seen] : unit.gates) {
        if (where.first != unit.channel || where.second >= gates_of_a_channel)
            continue;
        const auto shown = place_of(seen);
        const auto stated = unit.stated.find(where.second);
        if (stated == unit.stated.end())
            out.push_back(
                {FindingKind::place_unstated, unit.channel,
                 fmt::format("Gate {} of {} sees seed, and the settings do not say where it sits.",
                             where.second, name_of_unit(unit)),
                 shown ? fmt::format("By its first and last seed it sits {} the valve: set "
                                     "gate{}_place.",
                                     name_of(*shown), where.second)
                       : fmt::format("Look, and set gate{}_place.", where.second),
                 where.second});
        else if (shown && *shown != stated->second)
            out.push_back(
                {FindingKind::place_contradicted, unit.channel,
                 fmt::format("Gate {} of {} is said to sit {} the valve, and saw its seed {}.",
                             where.second, name_of_unit(unit), name_of(stated->second),
                             *shown == GatePlace::above ? "before the valve opened"
                                                        : "after the valve had opened"),
                 fmt::format("Look; it seems to sit {}: set gate{}_place.", name_of(*shown),
                             where.second)});
    }
}

bool saw_nothing(const FewDrops& unit) {
    return std::all_of(unit.gates.begin(), unit.gates.end(),
                       [](const auto& one) { return one.second.pulses == 0; });
}

std::string off_in_words(double off_mm, std::int64_t speed_um_s) {
    const double ms = std::fabs(off_mm) * 1e6 / static_cast<double>(speed_um_s);
    return fmt::format("{:.1f} mm {}, which is {:.0f} ms at this speed", std::fabs(off_mm),
                       off_mm > 0.0 ? "late" : "early", ms);
}

std::string off_remedy(double off_mm) {
    return off_mm > 0.0
               ? "A fall time stated too long (gate lower than said) shows so, and a lead that is "
                 "too short: measure the gate's height again, then calibrate the lead."
               : "A fall time stated too short (gate higher than said) shows so, and a lead that "
                 "is too long: measure the gate's height again, then calibrate the lead.";
}

struct Off {
    const FewDrops* unit;
    double mm;
    double half_mm; // of its interval
};

std::vector<Off> offsets_of(std::span<const FewDrops> units) {
    std::vector<Off> out;
    for (const FewDrops& unit : units)
        if (unit.offset_mm && unit.offset_mm->interval)
            out.push_back({&unit, unit.offset_mm->value,
                           (unit.offset_mm->interval->high - unit.offset_mm->interval->low) / 2.0});
    return out;
}

// Half of them lie on either side.
double middle_of(std::vector<Off> all) {
    std::sort(all.begin(), all.end(), [](const Off& a, const Off& b) { return a.mm < b.mm; });
    const std::size_t half = all.size() / 2;
    return all.size() % 2 == 1 ? all[half].mm : (all[half - 1].mm + all[half].mm) / 2.0;
}

void find_offsets(std::span<const FewDrops> units, std::int64_t speed_um_s,
                  std::vector<Finding>& out) {
    const std::vector<Off> all = offsets_of(units);
    if (all.empty() || speed_um_s <= 0)
        return;
    const double middle_mm = middle_of(all);
    const auto apart = [&](const Off& one) {
        return std::fabs(one.mm - middle_mm) > std::fabs(middle_mm) * alike + one.half_mm;
    };
    const auto odd = std::count_if(all.begin(), all.end(), apart);
    const bool shared = all.size() > 1 && std::fabs(middle_mm) > least_off_mm && odd == 0;
    if (shared)
        out.push_back({FindingKind::all_off_alike, std::nullopt,
                       fmt::format("All {} units land off alike: {}. One number that they share "
                                   "is wrong.",
                                   all.size(), off_in_words(middle_mm, speed_um_s)),
                       off_remedy(middle_mm)});
    for (const Off& one : all)
        if (!shared && std::fabs(one.mm) - one.half_mm > least_off_mm)
            out.push_back({FindingKind::one_off, one.unit->channel,
                           fmt::format("{} lands off its place: {}.", name_of_unit(*one.unit),
                                       off_in_words(one.mm, speed_um_s)),
                           off_remedy(one.mm)});
}

} // namespace

std::vector<Finding> machine_findings(std::span<const FewDrops> units, std::int64_t speed_um_s) {
    std::vector<Finding> out;
    for (const FewDrops& unit : units) {
        if (saw_nothing(unit)) {
            out.push_back({FindingKind::no_seed, unit.channel,
                           fmt::format("{} made {} drops, and no gate saw any seed.",
                                       name_of_unit(unit), unit.drops),
                           "Is there seed in the hopper, does the disc turn, are the gates "
                           "plugged in?"});
            continue;
        }
        const std::size_t before = out.size();
        find_plugs(units, unit, out);
        if (out.size() == before)
            find_silence(unit, out);
        find_places(unit, out);
    }
    find_offsets(units, speed_um_s, out);
    return out;
}

} // namespace dropledger::calibration
