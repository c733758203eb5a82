// Whether runs may join a batch, and their joining: each log once, chosen units only, a second sample
// only where it is called for, a re-test only with its reason. Private to the room.
#pragma once

#include "analysis/batch/chain/batch.hpp"

namespace dropledger::batch {

[[nodiscard]] Status take_calibration(Batch& batch, const UsedCalibration& calibration);
// `reason` (may be empty) is of re-tests.
[[nodiscard]] Status take_runs(Batch& batch, std::vector<TestedRun> runs,
                               const std::string& reason);

} // namespace dropledger::batch
