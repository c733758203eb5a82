// The calibration that a run is made under: named in its log, and its flight times put where the
// operator gave none.
#pragma once

#include "bench/book/book.hpp"
#include "bench/commands/run/settings/run_options.hpp"

#include <string>
#include <vector>

namespace dropledger::cli {

// What --calibration and --book say for this plan; the sentences are for the operator, before the
// motors start. Fails where a calibration is for another unit, bench, gate or crop and
// --calibration-anyway was not said. `day`: YYYY-MM-DD. `book`: null where there is none.
[[nodiscard]] Result<std::vector<std::string>> calibrate_plan(const RunOptions& options,
                                                              const book::Book* book,
                                                              const std::string& day,
                                                              recorder::RunPlan& plan);

} // namespace dropledger::cli
