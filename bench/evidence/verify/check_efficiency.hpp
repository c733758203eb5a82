// Whether the efficiency of a calibration record follows from the figures and the logs it names.
//
// Undefined when: the record names no figures: nothing can be worked out, it counts as typed. A log
// that is not in the folder is another check's matter.
#pragma once

#include "bench/evidence/verify/verify.hpp"
#include "calibration/record/record.hpp"

#include <vector>

namespace dropledger::evidence {

[[nodiscard]] std::vector<Failure> check_efficiency(const calibration::Record& record,
                                                    const Folder& folder);

} // namespace dropledger::evidence
