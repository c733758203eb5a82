// Logs mangled at random, from fixed seeds: the reader must say what the plain reference says,
// count every line once, and not care how the bytes arrive.
#include "tests/analysis/droplog/logs.hpp"
#include "tests/fuzz/reference.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>

using namespace dropledger;
using namespace dropledger::droplog;

namespace {

std::string eventful_log(std::mt19937& random) {
    return written([&](Writer& writer) {
        begin_run(writer);
        std::uint32_t seq = 0;
        std::uint32_t tick_us = static_cast<std::uint32_t>(random());
        for (int boot = 0; boot < 2; ++boot) {
            seq = 0;
            writer.controller(hello_line({seq++, tick_us}, {1, std::to_string(boot), 1, "fw"}));
            for (std::uint32_t i = 0; i < 12; ++i) {
                tick_us += static_cast<std::uint32_t>(random() % 900'000);
                writer.controller(travel_line({seq++, tick_us}, 1000 * std::int64_t{i}));
                writer.controller(drop_line({seq++, tick_us}, {0, i, 1000 * std::int64_t{i}, 1}));
                writer.controller(pulse_line({seq++, tick_us - 40'000}, {0, 1, 1200, 300}));
                if (random() % 4 == 0)
                    writer.controller(beat_line({seq++, tick_us}, 1, random() % 8 == 0 ? 3 : 0));
                if (random() % 6 == 0)
                    writer.seal();
            }
            writer.controller(
                encode("weather," + std::to_string(seq++) + "," + std::to_string(tick_us)));
        }
        writer.close("count", random() % 2 == 0 ? std::optional{PrivateKey{}} : std::nullopt);
    });
}

bool is_printable(const std::string& text) {
    return std::all_of(text.begin(), text.end(), [](char c) { return c >= ' ' && c <= '~'; });
}

void mangle_bytes(std::string& log, std::mt19937& random) {
    const std::size_t at = random() % log.size();
    switch (random() % 4) {
    case 0:
        log[at] = static_cast<char>(random());
        break;
    case 1:
        log.erase(at, random() % 60);
        break;
    case 2:
        log.insert(at, std::string(random() % 300, static_cast<char>(random())));
        break;
    default:
        log.insert(at, log.substr(random() % log.size(), random() % 200));
    }
}

void mangle_lines(std::string& log, std::mt19937& random) {
    auto lines = lines_of(log);
    const auto any = [&] {
        return lines.begin() + static_cast<std::ptrdiff_t>(random() % lines.size());
    };
    switch (random() % 5) {
    case 0:
        lines.erase(any());
        break;
    case 1: {
        const std::string again = *any();
        lines.insert(any(), again);
        break;
    }
    case 2:
        std::iter_swap(any(), any());
        break;
    default: {
        // a digit edited under its right check: conflicts, jumps of SEQ and TICK, numbers out of
        // range
        std::string& line = *any();
        const std::size_t star = line.rfind('*');
        if (star == std::string::npos || star < 2 || star + 6 != line.size())
            break;
        const std::size_t at = random() % star;
        if (line[at] >= '0' && line[at] <= '9')
            line[at] = static_cast<char>('0' + random() % 10);
        if (line.size() <= longest_line && is_printable(line.substr(0, star)))
            line = with_right_check(line);
    }
    }
    log = joined(lines);
}

std::string mangled_log(std::uint32_t seed) {
    std::mt19937 random{seed};
    std::string log = eventful_log(random);
    for (auto i = random() % 6; i > 0 && log.size() > 1; --i)
        random() % 3 == 0 ? mangle_bytes(log, random) : mangle_lines(log, random);
    return log;
}

} // namespace

TEST(MangledLog, IsReadAsThePlainReferenceReadsIt) {
    for (std::uint32_t seed = 0; seed < 800; ++seed) {
        const std::string log = mangled_log(seed);
        const auto expected = reference::integrity(log);
        const auto reading = check(log);
        ASSERT_EQ(static_cast<bool>(reading), expected.has_value()) << "seed " << seed;
        if (!expected)
            continue;
        ASSERT_EQ(reference::described(reading->integrity), reference::described(*expected))
            << "seed " << seed;
        const auto lf = static_cast<std::uint64_t>(std::count(log.begin(), log.end(), '\n'));
        ASSERT_EQ(reading->integrity.lines.total(), lf) << "seed " << seed;
    }
}

TEST(MangledLog, IsReadAlikeHoweverItsBytesArrive) {
    for (std::uint32_t seed = 0; seed < 200; ++seed) {
        const std::string log = mangled_log(seed) + std::string(seed % 3, 'x');
        Told whole;
        StringSource at_once{log};
        const auto expected = read_log(at_once, "test.droplog", whole);
        for (const std::size_t largest : {1U, 7U, 300U}) {
            Told pieces;
            PiecewiseSource source{log, largest, seed};
            const auto found = read_log(source, "test.droplog", pieces);
            ASSERT_EQ(static_cast<bool>(found), static_cast<bool>(expected));
            if (expected) {
                ASSERT_EQ(reference::described(found->integrity),
                          reference::described(expected->integrity));
            }
            ASSERT_EQ(pieces.says, whole.says) << "seed " << seed << ", pieces up to " << largest;
        }
    }
}

// Pieces of a log are decoded side by side and must come together in its order.
TEST(MangledLog, IsReadAlikeByAnyNumberOfDecoders) {
    std::mt19937 random{11};
    for (int round = 0; round < 6; ++round) {
        std::string log = healthy_log(20'000); // several pieces
        for (int i = 0; i < 40 * round; ++i)
            mangle_bytes(log, random);
        Told alone;
        StringSource one{log};
        const auto expected = read_log(one, "test.droplog", alone, 1);
        for (const std::size_t decoders : {2U, 5U}) {
            Told together;
            StringSource source{log};
            const auto found = read_log(source, "test.droplog", together, decoders);
            ASSERT_EQ(static_cast<bool>(found), static_cast<bool>(expected));
            if (expected) {
                ASSERT_EQ(reference::described(found->integrity),
                          reference::described(expected->integrity));
            }
            ASSERT_EQ(together.says, alone.says) << "round " << round;
        }
    }
}
