// The pulses of one gate of a log, and how fast they came.
//
// Undefined when: the gate saw nothing, or several channels have pulses and none is named: refused.
#pragma once

#include "analysis/base/readers/byte_source.hpp"
#include "analysis/ledger/setup.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::calibration {

struct GatePulses {
    int channel = 0;
    std::string unit;
    std::vector<ledger::PulseShape> shapes;
    double seconds = 0.0;
    std::optional<std::int64_t> dead_us;
};
[[nodiscard]] Result<GatePulses> gate_pulses(const OpenBytes& open, const std::string& file,
                                             int gate, std::optional<int> channel);

} // namespace dropledger::calibration
