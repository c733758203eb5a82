// Why a controller reported a fault, ended a run or refused a command: the words of the format.
//
// Assumes: a log of another version may hold further words; they are kept as texts and are of none
// of these.
#pragma once

#include "analysis/base/enum_names.hpp"

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>

namespace dropledger::droplog {

enum class FaultCode : std::uint8_t {
    estop,
    guard,
    motor_stall,
    gate_blocked,
    valve_stuck,
    low_voltage,
    host_silent,
};

inline constexpr std::array fault_code_names{
    EnumName{FaultCode::estop, "estop"},
    EnumName{FaultCode::guard, "guard"},
    EnumName{FaultCode::motor_stall, "motor_stall"},
    EnumName{FaultCode::gate_blocked, "gate_blocked"},
    EnumName{FaultCode::valve_stuck, "valve_stuck"},
    EnumName{FaultCode::low_voltage, "low_voltage"},
    EnumName{FaultCode::host_silent, "host_silent"},
};
static_assert(names_all<fault_code_names>());

enum class HaltReason : std::uint8_t { host, count, estop, guard, host_silent, fault };

inline constexpr std::array halt_reason_names{
    EnumName{HaltReason::host, "host"},
    EnumName{HaltReason::count, "count"},
    EnumName{HaltReason::estop, "estop"},
    EnumName{HaltReason::guard, "guard"},
    EnumName{HaltReason::host_silent, "host_silent"},
    EnumName{HaltReason::fault, "fault"},
};
static_assert(names_all<halt_reason_names>());

[[nodiscard]] constexpr std::string_view name_of(FaultCode code) {
    return row_in(fault_code_names, code).key;
}
[[nodiscard]] constexpr std::optional<FaultCode> fault_code_of(std::string_view name) {
    return value_named(fault_code_names, name);
}
[[nodiscard]] constexpr std::string_view name_of(HaltReason reason) {
    return row_in(halt_reason_names, reason).key;
}
[[nodiscard]] constexpr std::optional<HaltReason> halt_reason_of(std::string_view name) {
    return value_named(halt_reason_names, name);
}

// What the host gives as the reason where a run's limits were decided before its drops were made.
inline constexpr std::string_view decided_reason = "decided";

// Of a reason in @close: the controller made the drops that were left to make.
[[nodiscard]] constexpr bool made_its_count(std::string_view close_reason) {
    return halt_reason_of(close_reason) == HaltReason::count;
}
// The run went on for as long as it was to.
[[nodiscard]] constexpr bool ran_its_course(std::string_view close_reason) {
    return made_its_count(close_reason) || close_reason == decided_reason;
}

enum class RefusedCode : std::uint8_t {
    length,
    crc,
    unknown,
    syntax,
    seq,
    gone,
    state,
    mode,
    estop,
    guard,
    spacing,
    count,
    speed,
    channels,
    drops,
};

inline constexpr std::array refused_code_names{
    EnumName{RefusedCode::length, "length"},   EnumName{RefusedCode::crc, "crc"},
    EnumName{RefusedCode::unknown, "unknown"}, EnumName{RefusedCode::syntax, "syntax"},
    EnumName{RefusedCode::seq, "seq"},         EnumName{RefusedCode::gone, "gone"},
    EnumName{RefusedCode::state, "state"},     EnumName{RefusedCode::mode, "mode"},
    EnumName{RefusedCode::estop, "estop"},     EnumName{RefusedCode::guard, "guard"},
    EnumName{RefusedCode::spacing, "spacing"}, EnumName{RefusedCode::count, "count"},
    EnumName{RefusedCode::speed, "speed"},     EnumName{RefusedCode::channels, "channels"},
    EnumName{RefusedCode::drops, "drops"},
};
static_assert(names_all<refused_code_names>());

[[nodiscard]] constexpr std::string_view name_of(RefusedCode code) {
    return row_in(refused_code_names, code).key;
}
[[nodiscard]] constexpr std::optional<RefusedCode> refused_code_of(std::string_view name) {
    return value_named(refused_code_names, name);
}

} // namespace dropledger::droplog
