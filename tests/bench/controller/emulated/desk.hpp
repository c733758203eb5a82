// A chip with its plant and a host that says `alive` and acknowledges, all on the chip's own clock.
#pragma once

#include "plant.hpp"

#include "analysis/droplog/line.hpp"
#include "bench/virtual/unit/scenario.hpp"

#include <algorithm>
#include <deque>
#include <stdexcept>
#include <string>
#include <vector>

namespace dropledger::emulated {

[[nodiscard]] inline bench_virtual::Scenario units_of(const std::string& path) {
    auto read = bench_virtual::read_scenario(path);
    if (!read)
        throw std::runtime_error("cannot read " + path);
    return *read;
}

class Desk {
public:
    Desk(const std::string& elf, const bench_virtual::Scenario& units, unsigned bits_per_s = 115200)
        : chip(elf, "atmega2560"), scenario(units), plant(chip, scenario, wiring),
          baud(bits_per_s) {
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
    // The cable is out: what is said meanwhile is heard by nobody; then what is missing is asked for.
    void away_for_us(std::uint64_t us) {
        cable_out = true;
        chip.run_until(chip.now() + us * cycles_per_us);
        cable_out = false;
        misses_some = true;
        begun.clear();
        lines.pop_back(); // the last may not be whole
        records.pop_back();
        send("alive");
        send("resend," + std::to_string(records.back().seq + 1));
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
    void pass_byte() {
        if (!on_the_way.empty()) {
            chip.send(static_cast<std::uint8_t>(on_the_way.front()));
            on_the_way.pop_front();
        }
        chip.at(chip.now() + chip.cycles_per_byte(baud), [this] { pass_byte(); });
    }
    void hear(char byte) {
        if (cable_out)
            return;
        if (byte != '\n') {
            begun += byte;
            return;
        }
        const auto record = droplog::decode(begun);
        const bool follows =
            records.empty() || record.name == droplog::LineName::hello ||
            (misses_some ? record.seq == records.back().seq + 1 : record.seq > records.back().seq);
        if (record.from_controller() && follows) {
            lines.push_back(begun);
            records.push_back(record);
        }
        begun.clear();
    }

    unsigned baud;
    bool cable_out = false;
    bool misses_some = false; // and has asked for it: what comes before that does not count
    std::deque<char> on_the_way;
    std::string begun;
};

} // namespace dropledger::emulated
