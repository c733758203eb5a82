// Makes the hand-made golden logs anew: `make_golden FOLDER`. They are invented, small, and the
// same bytes every time.
#include "analysis/droplog/line.hpp"
#include "analysis/droplog/writer.hpp"

#include <fstream>
#include <functional>
#include <string>

namespace {

using namespace dropledger::droplog;

constexpr std::int64_t started_us = 1'772'438'400'000'000; // 2026-03-02T08:00:00Z
constexpr std::uint32_t spacing_um = 100'000;
constexpr std::uint32_t between_drops_us = 400'000;

PrivateKey bench_key() {
    PrivateKey key{};
    for (std::size_t i = 0; i < key.size(); ++i)
        key[i] = static_cast<std::uint8_t>(i);
    return key;
}

// A run in the making: counts SEQ and keeps the text.
struct Run {
    std::string log;
    Writer writer{[this](std::string_view line) { log += line; }};
    std::uint32_t seq = 0;
    std::uint32_t tick_us = 0;

    // `drops`: how many the order asks for.
    Run(std::string_view run_id, std::uint32_t drops, std::string_view purpose) {
        writer.start(run_id, "2026-03-02T08:00:00Z");
        writer.note("Origin: made by tests/golden/make_golden.cpp, invented. Purpose: " +
                    std::string{purpose});
        writer.set("bench", "golden");
        writer.set("crop", "chicory");
        writer.set("mode", "single");
        writer.set("spacing_um", std::to_string(spacing_um));
        writer.set("count", "1");
        writer.set("speed_um_s", "250000");
        writer.channel_set(0, "unit", "G-1");
        writer.sent(encode("arm,single,100000,1,250000,1," + std::to_string(drops)));
    }

    Stamp next() { return {seq++, tick_us}; }

    void hello(const std::string& boot) {
        seq = 0;
        writer.controller(hello_line(next(), {1, boot, 1, "golden-1"}));
        writer.controller(state_line(next(), "armed", ""));
        writer.controller(state_line(next(), "started", ""));
        writer.controller(travel_line(next(), 0));
        writer.at(seq - 1, started_us);
    }

    void halted() { writer.controller(state_line(next(), "halted", "count")); }

    void drop(std::uint32_t index) {
        const std::int64_t position_um = std::int64_t{spacing_um} * index;
        writer.controller(drop_line(next(), {0, index, position_um, 1}));
        tick_us += 31'000;
        writer.controller(pulse_line(next(), {0, 1, 1'400 + index, 420}));
        tick_us += between_drops_us - 31'000;
        writer.controller(travel_line(next(), position_um + spacing_um));
        if (index % 2 == 0)
            writer.controller(beat_line(next(), 2, 0));
    }

    void drops(std::uint32_t from, std::uint32_t to) {
        for (std::uint32_t index = from; index < to; ++index)
            drop(index);
    }
};

std::string clean() {
    Run run{"00000000-0000-4000-8000-000000000001", 20, "a whole, signed run without a fault."};
    run.hello("b1");
    run.drops(0, 10);
    run.writer.seal();
    run.drops(10, 20);
    run.halted();
    run.writer.close("count", bench_key());
    return run.log;
}

std::string damaged() {
    Run run{"00000000-0000-4000-8000-000000000002", 15,
            "noise on the wire, asked for again; then two bytes changed in the file."};
    run.hello("b1");
    run.drops(0, 5);
    run.writer.damaged("drop,22,2\x80\x11");
    run.drops(5, 10);
    run.writer.seal();
    run.drops(10, 15);
    run.halted();
    run.writer.close("count", {});
    run.log[run.log.find("pulse,") + 8] ^= 1;
    run.log[run.log.rfind("travel,") + 3] ^= 1;
    return run.log;
}

std::string repeated() {
    Run run{"00000000-0000-4000-8000-000000000003", 8,
            "a controller line twice, and another under a SEQ that is taken."};
    run.hello("b1");
    run.drops(0, 4);
    run.writer.controller(travel_line({run.seq - 1, run.tick_us}, 5));
    run.writer.controller(travel_line({3, 0}, 0));
    run.drops(4, 8);
    run.halted();
    run.writer.close("count", {});
    return run.log;
}

std::string gap() {
    Run run{"00000000-0000-4000-8000-000000000004", 12,
            "the controller's buffer ran over: seven lines gone, and it says so."};
    run.hello("b1");
    run.drops(0, 5);
    run.seq += 7;
    run.tick_us += 2 * between_drops_us;
    run.writer.controller(beat_line(run.next(), 0, 7));
    run.drops(7, 12);
    run.halted();
    run.writer.close("count", {});
    return run.log;
}

std::string reboot() {
    Run run{"00000000-0000-4000-8000-000000000005", 6,
            "the controller booted in mid-run, and somebody let it start again."};
    run.hello("b1");
    run.drops(0, 6);
    run.tick_us = 5'000;
    run.writer.confirmed(started_us + 60'000'000);
    run.hello("b2");
    run.drops(0, 6);
    run.writer.close("fault", {});
    return run.log;
}

std::string torn() {
    const std::string whole = clean();
    return whole.substr(0, whole.rfind("drop,") + 20);
}

std::string tick_wrap() {
    Run run{"00000000-0000-4000-8000-000000000006", 8,
            "the tick wraps, with a line 40 ms late across the wrap and one 60 ms late after it."};
    run.tick_us = 4'294'957'296U - 4 * between_drops_us; // 10 ms before the wrap after four drops
    run.hello("b1");
    run.drops(0, 4);
    run.tick_us = 10'000;
    run.writer.controller(travel_line(run.next(), 400'000));
    run.writer.controller(pulse_line({run.seq++, 4'294'937'296U}, {0, 0, 900, 300}));
    run.tick_us = 500'000;
    run.drop(4);
    run.writer.controller(pulse_line({run.seq++, run.tick_us - 60'000}, {0, 0, 900, 300}));
    run.drops(5, 8);
    run.halted();
    run.writer.close("count", {});
    return run.log;
}

std::string resumed() {
    Run run{"00000000-0000-4000-8000-000000000007", 10,
            "the driver was restarted, the controller kept what was not acknowledged."};
    run.hello("b1");
    run.drops(0, 5);
    run.writer.resumed(started_us + 60'000'000);
    run.writer.controller(hello_line(run.next(), {1, "b1", 1, "golden-1"}));
    run.drops(5, 10);
    run.halted();
    run.writer.close("count", bench_key());
    return run.log;
}

struct Golden {
    const char* name;
    std::function<std::string()> log;
};

} // namespace

int main(int count, char** arguments) {
    if (count != 2)
        return 64;
    const Golden all[] = {
        {"clean", clean},   {"damaged", damaged}, {"repeated", repeated},   {"gap", gap},
        {"reboot", reboot}, {"torn", torn},       {"tick_wrap", tick_wrap}, {"resumed", resumed}};
    for (const Golden& golden : all) {
        std::ofstream file{std::string{arguments[1]} + "/" + golden.name + ".droplog",
                           std::ios::binary};
        file << golden.log();
        if (!file.flush())
            return 74;
    }
    return 0;
}
