// Pairs of a gate's pulses and landings measured by rule, by drop number or by place.
//
// Units: mm, m/s (below 0 where travel counts down), µs.
// Undefined when: see strip.hpp.
#pragma once

#include "calibration/flight/strip.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::calibration {

// Where travel stood and how fast it ran when the gate saw a seed.
struct StripPulse {
    double position_mm = 0.0;
    double speed_mps = 0.0;
};

struct StripDrop {
    std::int64_t index = 0;
    std::int64_t position_um = 0;
};

struct StripPairs {
    std::vector<Landing> matched;
    std::int64_t several = 0;
};

[[nodiscard]] StripPairs pairs_by_number(const std::vector<StripPulse>& pulses,
                                         std::vector<StripDrop> drops,
                                         const std::vector<RuleReading>& readings,
                                         double flight_us);

// `expected_mm`: landing less travel position; decides where several shifts fit about as well.
[[nodiscard]] Result<StripPairs> pairs_by_place(const std::vector<StripPulse>& pulses,
                                                const std::vector<RuleReading>& readings,
                                                std::optional<double> expected_mm,
                                                const std::string& file);

} // namespace dropledger::calibration
