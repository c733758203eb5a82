// What keeps a run's evidence from carrying a verdict, as one closed set.
#pragma once

#include "analysis/base/enum_names.hpp"

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace dropledger::audit {

enum class Contradiction : std::uint8_t {
    log_disagrees,            // seals, signature, or lines that contradict each other
    gates_disagree,           // the judging gate overlooks what the other one saw
    calibration_contradicted, // by the run that it should correct
    all_units_off,            // by one same amount
    gate_without_place,       // it saw seed, and the log does not say where it sits
    travel_jumps,             // travel lines that no machine can have driven one after the other
    order_not_carried_out,    // drops at another spacing, speed or count than the log states
    channels_alike,           // two channels report the same pulses
    pulses_without_drop,      // the judging gate sees several seeds where nothing else says so
    gate_fell_silent,         // for long, and no other gate says whether seed fell
    drops_out_of_step,        // seeds lie where other drops were commanded than opened for them
};
constexpr std::array<EnumName<Contradiction>, 11> contradiction_names{
    {{Contradiction::log_disagrees, "log_disagrees"},
     {Contradiction::gates_disagree, "gates_disagree"},
     {Contradiction::calibration_contradicted, "calibration_contradicted"},
     {Contradiction::all_units_off, "all_units_off"},
     {Contradiction::gate_without_place, "gate_without_place"},
     {Contradiction::travel_jumps, "travel_jumps"},
     {Contradiction::order_not_carried_out, "order_not_carried_out"},
     {Contradiction::channels_alike, "channels_alike"},
     {Contradiction::pulses_without_drop, "pulses_without_drop"},
     {Contradiction::gate_fell_silent, "gate_fell_silent"},
     {Contradiction::drops_out_of_step, "drops_out_of_step"}}};
static_assert(names_all<contradiction_names>());

[[nodiscard]] constexpr std::string_view key_of(Contradiction kind) {
    return row_in(contradiction_names, kind).key;
}

struct Contradicted {
    Contradiction kind = Contradiction::log_disagrees;
    std::optional<int> channel; // none: the whole run
    std::string what;           // a clause
    std::string remedy;
};

} // namespace dropledger::audit
