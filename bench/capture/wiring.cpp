#include "bench/capture/wiring.hpp"

#include "analysis/base/readers/toml_table.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::capture {

namespace {

constexpr double longest_step_mm = 10'000.0;
constexpr double fastest_mps = 10.0;
constexpr double most_rate_hz = 1e10;

class WiringReader {
public:
    Wiring read(TomlTable root) {
        root.only({"capture", "travel", "channel"});
        if (auto capture = root.table("capture"))
            take_capture(*capture);
        if (auto travel = root.table("travel"))
            take_travel(*travel);
        else
            root.missing("travel", "how far the machine went: an encoder, pulses or a speed");
        auto channels = root.tables("channel");
        if (channels.empty())
            root.missing("channel", "which signals belong to which unit");
        for (TomlTable& channel : channels)
            take_channel(channel);
        return std::move(wiring_);
    }

private:
    void take_capture(TomlTable& table) {
        table.only({"sample_rate_hz", "shortest_dark_us"});
        wiring_.sample_rate_hz = table.number("sample_rate_hz", 1.0, most_rate_hz);
        wiring_.shortest_dark_us =
            table.whole_number("shortest_dark_us", 1, 50'000).value_or(wiring_.shortest_dark_us);
    }

    void take_travel(TomlTable& table) {
        table.only({"a", "b", "mm_per_count", "pulses", "mm_per_pulse", "speed_mps"});
        const int ways = (table.has("a") || table.has("b") ? 1 : 0) +
                         (table.has("pulses") ? 1 : 0) + (table.has("speed_mps") ? 1 : 0);
        if (ways != 1)
            return table.fail("speed_mps",
                              ways == 0 ? "travel is measured in no way"
                                        : "travel is measured in several ways",
                              "give a, b and mm_per_count (an encoder), or pulses and "
                              "mm_per_pulse, or speed_mps");
        if (table.has("speed_mps"))
            wiring_.travel =
                StatedSpeed{table.number("speed_mps", 0.01, fastest_mps).value_or(0.0) * 1e6};
        else if (table.has("pulses"))
            wiring_.travel =
                LengthPulses{wire(table, "pulses"), step(table, "mm_per_pulse", 0.001)};
        else
            wiring_.travel = Encoder{wire(table, "a"), wire(table, "b"),
                                     step(table, "mm_per_count", -longest_step_mm)};
    }

    static double step(TomlTable& table, std::string_view key, double least_mm) {
        const auto mm = table.number(key, least_mm, longest_step_mm);
        if (!mm)
            table.missing(key, "the length of one step");
        else if (std::abs(*mm) < 0.001)
            table.fail(key, "steps of under a micrometre", "give the length in millimetres");
        return mm.value_or(1.0) * 1000.0;
    }

    // The signal named by `key`, which nothing else may be.
    std::size_t wire(TomlTable& table, std::string_view key) {
        const auto name = table.text(key);
        if (!name || name->empty()) {
            table.missing(key, "the name of a signal in the capture");
            return 0;
        }
        if (std::find(wiring_.wires.begin(), wiring_.wires.end(), *name) != wiring_.wires.end())
            table.fail(key, fmt::format("the signal `{}` is wired twice", *name),
                       "each signal is one thing: see to the names");
        wiring_.wires.push_back(*name);
        return wiring_.wires.size() - 1;
    }

    static std::int64_t glitch(TomlTable& table, std::string_view key) {
        return table.whole_number(key, 0, most_glitch_us).value_or(0);
    }

    static bool is_high(TomlTable& table, std::string_view key, std::string_view high,
                        std::string_view low) {
        const auto word = table.text(key);
        if (word && *word != high && *word != low)
            table.fail(key, fmt::format("`{}` is neither {} nor {}", *word, high, low), "");
        return word == high;
    }

    void take_channel(TomlTable& table) {
        table.only({"channel", "command", "command_edge", "command_glitch_us", "gate0",
                    "gate0_dark", "gate0_glitch_us", "gate1", "gate1_dark", "gate1_glitch_us"});
        const auto number = table.whole_number("channel", 0, most_channel);
        if (!number)
            return table.missing("channel", "its number, from 0");
        const int channel = static_cast<int>(*number);
        if (std::find(channels_.begin(), channels_.end(), channel) != channels_.end())
            table.fail("channel", fmt::format("channel {} is wired twice", channel),
                       "put all signals of a channel under one [[channel]]");
        channels_.push_back(channel);
        if (!table.has("gate0") && !table.has("gate1"))
            table.fail("channel", fmt::format("channel {} has no gate", channel),
                       "wire gate0 (the unit's own) or gate1 (the bench's)");
        take_command(table, channel);
        take_gate(table, channel, 0);
        take_gate(table, channel, 1);
    }

    void take_command(TomlTable& table, int channel) {
        if (!table.has("command"))
            return;
        const bool falling = is_high(table, "command_edge", "falling", "rising");
        wiring_.commands.push_back({.wire = wire(table, "command"),
                                    .channel = channel,
                                    .rising = !falling,
                                    .glitch_us = glitch(table, "command_glitch_us")});
    }

    void take_gate(TomlTable& table, int channel, int gate) {
        const std::string key = fmt::format("gate{}", gate);
        if (!table.has(key))
            return;
        if (!table.has(key + "_dark"))
            return table.missing(key + "_dark",
                                 "its level while a seed is in the beam: high or low");
        const bool dark_high = is_high(table, key + "_dark", "high", "low");
        wiring_.gates.push_back({.wire = wire(table, key),
                                 .channel = channel,
                                 .gate = gate,
                                 .dark_high = dark_high,
                                 .glitch_us = glitch(table, key + "_glitch_us")});
    }

    Wiring wiring_;
    std::vector<int> channels_;
};

} // namespace

Result<Wiring> parse_wiring(std::string_view text, const std::string& where) {
    auto document = TomlDocument::parse(text, where);
    if (!document)
        return document.error();
    Wiring wiring = WiringReader().read(document->root());
    if (document->problem())
        return *document->problem();
    return wiring;
}

} // namespace dropledger::capture
