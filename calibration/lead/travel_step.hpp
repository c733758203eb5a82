// In which whole counts travel is told, from what divides all its steps.
//
// Undefined when: there are no steps, or what divides them is longer than any encoder's count (an
// even travel read at even times): then nothing can be said.
#pragma once

#include <cmath>
#include <cstdint>
#include <optional>

namespace dropledger::calibration {

[[nodiscard]] inline std::optional<double> travel_step_mm(std::int64_t step_um) {
    constexpr std::int64_t longest_um = 2000;
    if (step_um <= 0 || step_um > longest_um)
        return std::nullopt;
    return static_cast<double>(step_um) / 1000.0;
}

// A reading may be the last count passed, the next or the nearest: anything within a step either
// way, all alike.
[[nodiscard]] inline double travel_step_u_mm(std::optional<double> step_mm) {
    return step_mm.value_or(0.0) / std::sqrt(3.0);
}

} // namespace dropledger::calibration
