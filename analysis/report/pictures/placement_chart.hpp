// Placement error along the run: every drop with seed (or the range of several), the rolling
// median, the bias and the allowance.
//
// Undefined when: nothing landed: an empty string.
#pragma once

#include "analysis/measures/placement.hpp"
#include "analysis/measures/trace.hpp"

#include <cstdint>
#include <optional>
#include <string>

namespace dropledger::report::pictures {

[[nodiscard]] std::string placement_chart(const measures::Trace& trace,
                                          const measures::PlacementResult& placement,
                                          std::optional<std::int64_t> allowance_um);

} // namespace dropledger::report::pictures
