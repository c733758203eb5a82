// A chip with its plant and a host that says `alive` and acknowledges, all on the chip's own clock.
#pragma once

#include "plant.hpp"

#include "analysis/droplog/line.hpp"
#include "bench/virtual/unit/scenario.hpp"

#include <deque>
#include <string>
#include <vector>

namespace dropledger::emulated {

class Desk {
public:
    Desk()
        : chip(FIRMWARE, "atmega2560"), scenario(scenario_here()), plant(chip, scenario, wiring) {
        chip.on_byte([this](std::uint8_t byte) { hear(static_cast<char>(byte)); });
        chip.at(chip.now() + chip.cycles_per_byte(baud), [this] { pass_byte(); });
    }

    void send(const std::string& body) {
        for (const char byte : droplog::encode(body) + "\n")
            on_the_way.push_back(byte);
    }
    // Half a second at a time, as a host does.
    void pass_us(std::uint64_t us) {
        const Cycle end = chip.now() + us * cycles_per_us;
        while (chip.now() < end) {
            if (alive)
                send("alive");
            if (alive && !records.empty())
                send("ack," + std::to_string(records.back().seq));
            chip.run_until(std::min(end, chip.now() + 300000 * cycles_per_us));
        }
    }
    void start(const std::string& arm) {
        pass_us(50000);
        send(arm);
        send("go");
    }
    [[nodiscard]] std::vector<droplog::Record> all(droplog::LineName name) const {
        std::vector<droplog::Record> found;
        for (const auto& record : records)
            if (record.name == name)
                found.push_back(record);
        return found;
    }
    [[nodiscard]] bool said(const std::string& words) const {
        return std::any_of(lines.begin(), lines.end(), [&](const std::string& line) {
            return line.find(words) != std::string::npos;
        });
    }
    [[nodiscard]] double us_of(Cycle cycle) const { // as the chip's clock counts
        return static_cast<double>(cycle - chip.clock_began().value_or(0)) / cycles_per_us;
    }

    Wiring wiring = wiring_of("atmega2560");
    Chip chip;
    bench_virtual::Scenario scenario;
    Plant plant;
    bool alive = true;
    std::vector<std::string> lines;
    std::vector<droplog::Record> records;

private:
    static constexpr unsigned baud = 115200;

    static bench_virtual::Scenario scenario_here() {
        auto read = bench_virtual::read_scenario(EIGHT_UNITS);
        if (!read)
            throw std::runtime_error("cannot read " EIGHT_UNITS);
        return *read;
    }
    void pass_byte() {
        if (!on_the_way.empty()) {
            chip.send(static_cast<std::uint8_t>(on_the_way.front()));
            on_the_way.pop_front();
        }
        chip.at(chip.now() + chip.cycles_per_byte(baud), [this] { pass_byte(); });
    }
    void hear(char byte) {
        if (byte != '\n') {
            begun += byte;
            return;
        }
        lines.push_back(begun);
        records.push_back(droplog::decode(begun));
        begun.clear();
    }

    std::deque<char> on_the_way;
    std::string begun;
};

} // namespace dropledger::emulated
