// Settings of a run that are one of a few words, in a log and in every file beside it.
#pragma once

#include "analysis/base/enum_names.hpp"

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>

namespace dropledger::droplog {

enum class Mode : std::uint8_t { single, portion, line };
enum class GatePlace : std::uint8_t { above, below }; // the valve
enum class CapturedTravel : std::uint8_t { encoder, length_pulses, stated_speed };

inline constexpr std::array mode_names{EnumName{Mode::single, "single"},
                                       EnumName{Mode::portion, "portion"},
                                       EnumName{Mode::line, "line"}};
static_assert(names_all<mode_names>());

// A log that only tried a machine's settings says so by `@set,purpose,try`.
inline constexpr std::string_view purpose_key = "purpose";
inline constexpr std::string_view purpose_try = "try";

inline constexpr std::array gate_place_names{EnumName{GatePlace::above, "above"},
                                             EnumName{GatePlace::below, "below"}};
static_assert(names_all<gate_place_names>());

// How travel came into a log that is an instrument's capture (`capture_travel`).
inline constexpr std::array captured_travel_names{
    EnumName{CapturedTravel::encoder, "encoder"},
    EnumName{CapturedTravel::length_pulses, "length_pulses"},
    EnumName{CapturedTravel::stated_speed, "stated_speed"}};
static_assert(names_all<captured_travel_names>());

[[nodiscard]] constexpr std::string_view name_of(Mode mode) {
    return row_in(mode_names, mode).key;
}
[[nodiscard]] constexpr std::optional<Mode> mode_of(std::string_view name) {
    return value_named(mode_names, name);
}
[[nodiscard]] constexpr std::string_view name_of(GatePlace place) {
    return row_in(gate_place_names, place).key;
}
[[nodiscard]] constexpr std::optional<GatePlace> gate_place_of(std::string_view name) {
    return value_named(gate_place_names, name);
}
[[nodiscard]] constexpr std::string_view name_of(CapturedTravel travel) {
    return row_in(captured_travel_names, travel).key;
}
[[nodiscard]] constexpr std::optional<CapturedTravel> captured_travel_of(std::string_view name) {
    return value_named(captured_travel_names, name);
}

} // namespace dropledger::droplog
