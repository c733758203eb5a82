#include "analysis/ledger/setup.hpp"

#include "analysis/base/results.hpp"
#include "analysis/base/text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <tuple>
#include <utility>

namespace dropledger::ledger {

namespace {

Error bad_setting(std::string_view key, std::string_view value, std::string_view expected) {
    return input_error(fmt::format("setting {}", key),
                       fmt::format("'{}' stands there, expected {}", value, expected),
                       "correct the @set line's value with the run's own tool and audit again");
}

// What no bench and no machine goes beyond; sums and memory rest on it.
constexpr std::int64_t most_time_us = 60'000'000;
constexpr std::int64_t most_cells = 10'000;
constexpr std::int64_t most_rows = 1'000'000;
constexpr std::int64_t most_count = 100'000;
constexpr std::int64_t most_thousandths = 1'000'000'000'000; // µm, µm/s, seeds per 1000 m

struct Range {
    std::int64_t least = 0;
    std::int64_t most = 0;
};

// A setting that, where it is there, must be a whole number of the range.
Result<std::optional<std::int64_t>> whole_number(const std::string* text, std::string_view key,
                                                 Range range) {
    if (text == nullptr)
        return std::optional<std::int64_t>{};
    const auto value = parse_int(*text);
    if (!value || *value < range.least || *value > range.most)
        return bad_setting(key, *text,
                           fmt::format("a whole number from {} to {}", range.least, range.most));
    return value;
}

Result<Mode> mode_in(const droplog::Header& header, const SetupOverrides& overrides,
                     std::vector<std::string>& assumed) {
    if (overrides.mode)
        return *overrides.mode;
    const std::string* const text = header.find("mode");
    if (text == nullptr) {
        assumed.emplace_back("The log does not state its mode: single seeds assumed.");
        return Mode::single;
    }
    const auto mode = mode_of(*text);
    if (!mode)
        return bad_setting("mode", *text, "single, portion or line");
    return *mode;
}

struct GateSettings {
    const std::string* place = nullptr;
    const std::string* fall_us = nullptr;
    const std::string* fall_u_us = nullptr;
    const std::string* dead_us = nullptr;

    [[nodiscard]] bool any() const {
        return place != nullptr || fall_us != nullptr || dead_us != nullptr;
    }
};

GateSettings gate_settings(const droplog::Header& header, int channel, int gate) {
    const auto find = [&](std::string_view what) {
        return header.find(channel, fmt::format("gate{}_{}", gate, what));
    };
    return {find("place"), find("fall_us"), find("fall_u_us"), find("dead_us")};
}

Result<GatePlace> place_of(const GateSettings& settings, int gate, ChannelSetup& channel) {
    if (settings.place == nullptr) {
        channel.assumed.push_back(
            fmt::format("Gate {} does not state its place: below the valve assumed.", gate));
        return GatePlace::below;
    }
    if (const auto place = droplog::gate_place_of(*settings.place))
        return *place;
    return bad_setting(fmt::format("gate{}_place of channel {}", gate, channel.channel),
                       *settings.place, "above or below");
}

Result<Gate> gate_of(const GateSettings& settings, int number, ChannelSetup& channel) {
    const auto key = [&](const char* what) {
        return fmt::format("gate{}_{} of channel {}", number, what, channel.channel);
    };
    const auto place = place_of(settings, number, channel);
    const auto fall = whole_number(settings.fall_us, key("fall_us"), {0, most_time_us});
    const auto fall_u = whole_number(settings.fall_u_us, key("fall_u_us"), {0, most_time_us});
    const auto dead = whole_number(settings.dead_us, key("dead_us"), {0, most_time_us});
    if (auto error = first_error(place, fall, fall_u, dead))
        return *std::move(error);
    if (*place == GatePlace::below && !*fall)
        channel.assumed.push_back(fmt::format(
            "Gate {} has no flight time to the ground: 0 assumed, so the offset holds the fall.",
            number));
    Gate gate;
    gate.number = number;
    gate.place = *place;
    gate.fall_us = fall->value_or(0);
    gate.fall_u_us = *fall_u;
    gate.dead_us = dead->value_or(0);
    gate.place_assumed = settings.place == nullptr && !*fall;
    gate.fall_assumed = *place == GatePlace::below && !*fall;
    return gate;
}

// The reference gate judges where the channel has one, else the unit's own sensor; the other one is
// kept to compare with it, and what is assumed of that one is of no account.
Result<Done> add_gates(const droplog::Header& header, ChannelSetup& channel) {
    for (const int number : {1, 0}) {
        const GateSettings settings = gate_settings(header, channel.channel, number);
        if (!settings.any())
            continue;
        const std::size_t sentences = channel.assumed.size();
        auto gate = gate_of(settings, number, channel);
        if (!gate)
            return gate.error();
        if (channel.gates_declared)
            channel.assumed.resize(sentences);
        channel.gates.push_back(*std::move(gate));
        channel.gates_declared = true;
    }
    return Done{};
}

void assume_gates(ChannelSetup& channel) {
    for (const int number : {1, 0})
        channel.gates.push_back(Gate{
            .number = number, .seeds_in_pulse = {}, .place_assumed = true, .fall_assumed = true});
    channel.assumed.emplace_back(
        "The log does not describe the channel's gates: below the valve and without flight time "
        "assumed; gate 1 judges where it saw anything.");
}

Result<ChannelSetup> channel_setup(const droplog::Header& header, int number) {
    ChannelSetup channel;
    channel.channel = number;
    if (const std::string* const unit = header.find(number, "unit"))
        channel.unit = *unit;
    const auto setting = [&](const char* key, Range range) {
        return whole_number(header.find(number, key), fmt::format("{} of channel {}", key, number),
                            range);
    };
    for (const auto& [key, most, target] : {std::tuple{"row", most_rows, &channel.row},
                                            std::tuple{"cells", most_cells, &channel.cells}}) {
        const auto value = setting(key, {1, most});
        if (!value)
            return value.error();
        if (*value)
            *target = static_cast<int>(**value);
    }
    const auto lead_us = setting("lead_us", {-most_time_us, most_time_us});
    if (!lead_us)
        return lead_us.error();
    channel.lead_us = *lead_us;
    if (const auto status = add_gates(header, channel); !status)
        return status.error();
    if (!channel.gates_declared)
        assume_gates(channel);
    return channel;
}

// In a line no valve sorts seeds to drops: only distances along the row matter, and a gate above
// the open valve tells those as well.
void place_line_gates(ChannelSetup& channel) {
    const bool one_judges = channel.gates_declared;
    for (Gate& gate : channel.gates) {
        if (gate.place == GatePlace::below)
            continue;
        gate.place = GatePlace::below;
        gate.fall_us = 0;
        if (one_judges && gate.number != channel.gates.front().number)
            continue; // it is only compared with, by its number of seeds
        channel.assumed.push_back(
            fmt::format("Gate {} sits above the valve: distances along the line are taken at the "
                        "gate, places on the ground are not known.",
                        gate.number));
    }
}

Result<Done> add_channels(const droplog::Header& header, RunSetup& setup) {
    for (const auto& [number, settings] : header.channels) {
        auto channel = channel_setup(header, number);
        if (!channel)
            return channel.error();
        if (setup.mode == Mode::line)
            place_line_gates(*channel);
        setup.channels.emplace(number, *std::move(channel));
    }
    return Done{};
}

} // namespace

bool ChannelSetup::may_judge(int gate) const {
    const auto found = std::find_if(gates.begin(), gates.end(),
                                    [&](const Gate& one) { return one.number == gate; });
    return found != gates.end() && (found == gates.begin() || !gates_declared);
}

bool ChannelSetup::states_place_of(int gate) const {
    return std::any_of(gates.begin(), gates.end(),
                       [&](const Gate& one) { return one.number == gate && !one.place_assumed; });
}

ChannelSetup RunSetup::channel(int number) const {
    if (const auto found = channels.find(number); found != channels.end())
        return found->second;
    ChannelSetup setup;
    setup.channel = number;
    assume_gates(setup);
    return setup;
}

// Nothing where the log is no capture.
Result<std::optional<Captured>> captured_in(const droplog::Header& header) {
    constexpr std::int64_t most_step_ps = 1'000'000'000'000; // a second
    const std::string* const step = header.find("capture_step_ps");
    const auto step_ps = whole_number(step, "capture_step_ps", {1, most_step_ps});
    if (!step_ps)
        return step_ps.error();
    if (!*step_ps)
        return std::optional<Captured>{};
    const std::string* const name = header.find("capture_travel");
    const auto travel = droplog::captured_travel_of(name == nullptr ? "" : *name);
    if (!travel)
        return input_error(
            "capture_travel",
            fmt::format("`{}` is no way to know travel", name == nullptr ? "" : *name),
            "the log must say encoder, length_pulses or stated_speed");
    return std::optional{Captured{.step_ps = **step_ps, .travel = *travel}};
}

Result<RunSetup> run_setup(const droplog::Header& header, const SetupOverrides& overrides) {
    RunSetup setup;
    const auto mode = mode_in(header, overrides, setup.assumed);
    if (!mode)
        return mode.error();
    setup.mode = *mode;
    const std::array<std::pair<const char*, std::optional<std::int64_t>*>, 3> numbers{
        {{"spacing_um", &setup.spacing_um},
         {"rate_per_m_milli", &setup.rate_per_m_milli},
         {"speed_um_s", &setup.speed_um_s}}};
    for (const auto& [key, target] : numbers) {
        auto value = whole_number(header.find(key), key, {0, most_thousandths});
        if (!value)
            return value.error();
        *target = *value == 0 ? std::nullopt : *value;
    }
    const auto count = whole_number(header.find("count"), "count", {0, most_count});
    if (!count)
        return count.error();
    if (*count)
        setup.count = static_cast<std::uint32_t>(**count);
    if (overrides.spacing_um && *overrides.spacing_um <= 0)
        return usage_error("spacing_mm", fmt::format("{} um is no spacing", *overrides.spacing_um),
                           "give a length above 0");
    if (overrides.spacing_um)
        setup.spacing_um = overrides.spacing_um;
    const auto captured = captured_in(header);
    if (!captured)
        return captured.error();
    setup.captured = *captured;
    if (const auto channels = add_channels(header, setup); !channels)
        return channels.error();
    return setup;
}

} // namespace dropledger::ledger
