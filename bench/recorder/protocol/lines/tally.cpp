#include "bench/recorder/protocol/lines/tally.hpp"

#include "analysis/droplog/settings.hpp"

#include <algorithm>
#include <array>
#include <cstdlib>
#include <utility>

namespace dropledger::recorder {

namespace {

using droplog::LineName;

constexpr std::uint32_t late_lines_us = 50'000; // lines may be out of tick order by so much

bool not_after(std::uint32_t a_us, std::uint32_t b_us) {
    return static_cast<std::int32_t>(a_us - b_us) <= 0;
}

std::string fault_code(std::string_view line) {
    const auto body = droplog::checked_body(line);
    const auto fields = body ? droplog::fields_of(*body) : std::vector<std::string_view>{};
    return fields.size() > 4 ? std::string{fields[4]} : std::string{};
}

} // namespace

void LiveTally::take(const droplog::Record& record, std::string_view line) {
    if (record.name == LineName::started)
        reboot(); // nothing falls any more of a start before
    else if (record.name == LineName::travel)
        take_travel(record);
    else if (record.name == LineName::drop)
        take_drop(record);
    else if (record.name == LineName::pulse && record.gate < 2)
        take_pulse(lane(record.channel), record);
    else if (record.name == LineName::fault && record.channel >= 0)
        lane(record.channel).tally.last_fault = fault_code(line);
}

void LiveTally::take_drop(const droplog::Record& drop) {
    Lane& lane = lanes_[drop.channel];
    ++lane.tally.drops;
    OpenDrop open{drop.tick_us, drop.count, {}};
    for (std::size_t gate = 0; gate < 2; ++gate)
        open.seeds[gate] = std::exchange(lane.gates[gate].waiting, 0U);
    lane.open.push_back(open);
    // The oldest drop's window ended with the next opening; a pulse in it may come late on the
    // wire.
    while (lane.open.size() > 2 && not_after(lane.open[1].tick_us + late_lines_us, drop.tick_us))
        settle_oldest(drop.channel, lane);
}

void LiveTally::take_travel(const droplog::Record& travel) {
    if (position_um_)
        travelled_um_ += std::abs(travel.position_um - *position_um_);
    position_um_ = travel.position_um;
}

void LiveTally::take_pulse(Lane& lane, const droplog::Record& pulse) const {
    lane.tally.seed_at_um = travelled_um_;
    GateState& gate = lane.gates[pulse.gate];
    gate.heard = true;
    lane.tally.pulses += pulse.gate == 1 || !lane.gates[1].heard ? 1U : 0U;
    if (gate.above) {
        const auto next = std::find_if(lane.open.begin(), lane.open.end(), [&](const OpenDrop& d) {
            return not_after(pulse.tick_us, d.tick_us);
        });
        ++(next == lane.open.end() ? gate.waiting : next->seeds[pulse.gate]);
        return;
    }
    const auto latest = std::find_if(lane.open.rbegin(), lane.open.rend(), [&](const OpenDrop& d) {
        return not_after(d.tick_us, pulse.tick_us);
    });
    if (latest != lane.open.rend())
        ++latest->seeds[pulse.gate];
}

void LiveTally::settle_oldest(int channel, Lane& lane) {
    const OpenDrop drop = lane.open.front();
    lane.open.pop_front();
    const std::uint32_t seeds = drop.seeds[lane.gates[1].heard ? 1 : 0];
    ++lane.tally.settled;
    lane.tally.dry = seeds == 0 ? lane.tally.dry + 1 : 0;
    if (seeds == 0)
        ++lane.tally.miss;
    else if (seeds < drop.asked)
        ++lane.tally.short_of;
    else
        ++(seeds == drop.asked ? lane.tally.exact : lane.tally.over);
    if (watcher_)
        watcher_({.channel = channel, .miss = seeds == 0, .over = seeds > drop.asked});
}

void LiveTally::reboot() {
    position_um_.reset();
    for (auto& [channel, lane] : lanes_)
        while (!lane.open.empty())
            settle_oldest(channel, lane);
}

void LiveTally::take_setting(int channel, std::string_view key, std::string_view value) {
    constexpr std::array<std::string_view, 2> places{"gate0_place", "gate1_place"};
    if (droplog::gate_place_of(value) != droplog::GatePlace::above)
        return;
    for (std::size_t gate = 0; gate < places.size(); ++gate)
        if (key == places.at(gate))
            lane(channel).gates.at(gate).above = true;
}

std::map<int, ChannelTally> LiveTally::channels() const {
    std::map<int, ChannelTally> tallies;
    for (const auto& [channel, lane] : lanes_)
        tallies[channel] = lane.tally;
    return tallies;
}

std::uint64_t LiveTally::pulses() const {
    std::uint64_t sum = 0;
    for (const auto& [channel, lane] : lanes_)
        sum += lane.tally.pulses;
    return sum;
}

} // namespace dropledger::recorder
