// controller_load: how much the firmware bears. Eight channels drop so many times a second for so long; says what was lost, how
// full the buffer was, and how far stamps are from the truth.
//
// usage: controller_load ELF SCENARIO SECONDS DROPS_PER_S GATES [BAUD [AWAY_MS]]
// SECONDS of bench time, GATES 1 or 2 a channel, BAUD as the .elf was built for. AWAY_MS: in the middle the host hears and says
// nothing for so long. Spacing is 20 mm.
#include "desk.hpp"

#include <fmt/format.h>

#include <cstdio>
#include <map>
#include <string>

namespace {

using namespace dropledger;
using namespace dropledger::emulated;
using droplog::LineName;

constexpr std::uint64_t second_us = 1000000;

struct Load {
    std::uint64_t seconds;
    double drops_per_s;
    bool two_gates;
    unsigned baud;
    std::uint64_t away_us;
};

bench_virtual::Scenario units(const std::string& path, const Load& load) {
    auto scenario = units_of(path);
    for (auto& channel : scenario.channels)
        if (!load.two_gates)
            channel.gates[0].reset();
    return scenario;
}

// The n-th pulse line of a gate is its n-th pulse, where none was lost.
std::string stamps(const Desk& desk) {
    std::map<std::pair<int, int>, std::vector<double>> true_us;
    for (const auto& pulse : desk.plant.pulses())
        true_us[{pulse.channel, pulse.gate}].push_back(pulse.at_us);
    std::map<std::pair<int, int>, std::size_t> seen;
    double least_us = 1e9;
    double most_us = -1e9;
    for (const auto& line : desk.all(LineName::pulse)) {
        const std::pair<int, int> gate{line.channel, line.gate};
        const double off_us = line.tick_us - true_us[gate].at(seen[gate]++);
        least_us = std::min(least_us, off_us);
        most_us = std::max(most_us, off_us);
    }
    return fmt::format("stamps minus truth {:.2f} to {:.2f} us", least_us, most_us);
}

std::string figures(const Desk& desk, const Load& load) {
    std::uint32_t most_backlog = 0;
    std::uint32_t lost = 0;
    for (const auto& beat : desk.all(LineName::beat)) {
        most_backlog = std::max(most_backlog, beat.index);
        lost = beat.count;
    }
    std::size_t bytes = 0;
    for (const std::string& line : desk.lines)
        bytes += line.size() + 1;
    return fmt::format(
        "{} s, {:.1f} drops/s a channel, {} gates: {} drops, {} pulse lines of {} pulses; LOST {}, "
        "most BACKLOG {}; "
        "{:.0f} bytes/s; busy {:.3f}, stack {} bytes; {}",
        load.seconds, load.drops_per_s, load.two_gates ? 2 : 1, desk.all(LineName::drop).size(),
        desk.all(LineName::pulse).size(), desk.plant.pulses().size(), lost, most_backlog,
        static_cast<double>(bytes) / static_cast<double>(load.seconds + 2), desk.chip.busy_share(),
        desk.chip.memory_end() - desk.chip.lowest_stack() + 1, lost == 0 ? stamps(desk) : "");
}

} // namespace

int main(int count, char** words) {
    if (count < 6) {
        std::fprintf(
            stderr,
            "usage: controller_load ELF SCENARIO SECONDS DROPS_PER_S GATES [BAUD [AWAY_MS]]\n");
        return 64;
    }
    const Load load{.seconds = std::stoull(words[3]),
                    .drops_per_s = std::stod(words[4]),
                    .two_gates = std::string(words[5]) == "2",
                    .baud = count > 6 ? static_cast<unsigned>(std::stoul(words[6])) : 115200,
                    .away_us = count > 7 ? 1000 * std::stoull(words[7]) : 0};
    Desk desk(words[1], units(words[2], load), load.baud);
    desk.start(fmt::format("arm,single,20000,1,{},255,0", std::int64_t(20000 * load.drops_per_s)));
    desk.pass_us(load.seconds * second_us / 2);
    if (load.away_us > 0)
        desk.away_for_us(load.away_us);
    desk.pass_us(load.seconds * second_us / 2 + 2 * second_us);
    desk.send("halt");
    desk.pass_us(6 * second_us);
    std::printf("%s\n", figures(desk, load).c_str());
    return 0;
}
