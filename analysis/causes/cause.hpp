// A likely cause of what a unit does wrong, with its evidence.
#pragma once

#include "analysis/base/enum_names.hpp"

#include <array>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::causes {

enum class CauseKind : std::uint8_t {
    bad_cell,
    bridging,
    empty_container,
    start_loss,
    valve_drift,
    valve_lag,
    double_feeding,
    gate_going_blind,
    speed_dependence,
    meter,           // the field: a row that leaves more out than the others
    sensor,          // the field: a gate that overlooks more than the others
    meter_or_sensor, // the field: which of the two can't be told
    blocked_tube,    // the field: or the opener
    valve_closed,    // the field: stuck for a while
    cable,           // the field: of the sensor, or its plug
};

struct CauseName {
    CauseKind value;
    std::string_view key; // in JSON
    std::string_view words;
};
inline constexpr std::array cause_names = std::to_array<CauseName>({
    {CauseKind::bad_cell, "bad_cell", "bad cell"},
    {CauseKind::bridging, "bridging", "bridging"},
    {CauseKind::empty_container, "empty_container", "empty container"},
    {CauseKind::start_loss, "start_loss", "start loss"},
    {CauseKind::valve_drift, "valve_drift", "valve drift"},
    {CauseKind::valve_lag, "valve_lag", "valve lag"},
    {CauseKind::double_feeding, "double_feeding", "double feeding"},
    {CauseKind::gate_going_blind, "gate_going_blind", "gate going blind"},
    {CauseKind::speed_dependence, "speed_dependence", "speed dependence"},
    {CauseKind::meter, "meter", "meter"},
    {CauseKind::sensor, "sensor", "sensor"},
    {CauseKind::meter_or_sensor, "meter_or_sensor", "meter or sensor"},
    {CauseKind::blocked_tube, "blocked_tube", "blocked tube or opener"},
    {CauseKind::valve_closed, "valve_closed", "valve stuck closed"},
    {CauseKind::cable, "cable", "sensor cable or plug"},
});
static_assert(names_all<cause_names>());

[[nodiscard]] constexpr std::string_view key_of(CauseKind kind) {
    return row_in(cause_names, kind).key;
}
[[nodiscard]] constexpr std::string_view words_of(CauseKind kind) {
    return row_in(cause_names, kind).words;
}

struct Cause {
    CauseKind kind{};
    double p_value = 1.0;             // adjusted for the places looked at, not for the kinds
    std::string evidence;             // a sentence without full stop
    std::string look_at;              // first
    std::vector<std::uint32_t> drops; // concerned, the first ones
};

} // namespace dropledger::causes
