// What a mechanic should know of a calibrated gate: what it overlooks, what that does to the
// numbers, and to the verdict.
#pragma once

#include "analysis/audit/model/audit_report.hpp"

#include <string>
#include <vector>

namespace dropledger::report {

// Empty without a calibration.
[[nodiscard]] std::vector<std::string> sensor_sentences(const audit::ChannelReport& channel);

} // namespace dropledger::report
