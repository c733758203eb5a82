// The options of a run that its settings file has too, in two tables: name, where it goes, help.
//
// On the command line a field is --spacing-mm, in the file's [run] table spacing_mm. A channel's
// setting has its own key in [[channel]] and in --channel-set; some have an option that sets it for
// all channels at once.
#pragma once

#include "bench/commands/run/settings/run_options.hpp"

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <variant>

namespace dropledger::cli {

using RunTarget =
    std::variant<std::optional<std::string> RunOptions::*,
                 std::optional<std::int64_t> RunOptions::*, std::optional<double> RunOptions::*>;

struct RunField {
    std::string_view name; // spacing_mm
    RunTarget target;
    const char* help;
    std::string_view log_key; // of the setting that it becomes in the log; empty: none
};

[[nodiscard]] std::span<const RunField> run_fields();

enum class ChannelValue : std::uint8_t {
    text,
    place,
    whole_us,
    from_one,
    height_mm, // over the ground
};

struct ForAllChannels {
    std::string_view name; // gate_fall_us
    RunTarget target;
    const char* help;
};

struct ChannelField {
    std::string_view key; // gate0_fall_us
    ChannelValue value;
    std::optional<ForAllChannels> for_all;
};

[[nodiscard]] std::span<const ChannelField> channel_fields();

[[nodiscard]] std::string option_name(std::string_view field); // --spacing-mm

} // namespace dropledger::cli
