// A machine's settings file: written, read back as `run` reads it, and tried on the bench.
//
// Assumes: a file that is there is a person's, and is not written over but by what wrote it.
#pragma once

#include "bench/commands/setup/bench_try.hpp"
#include "bench/commands/setup/machine.hpp"
#include "calibration/machine/findings.hpp"

#include <string>
#include <vector>

namespace dropledger::cli {

[[nodiscard]] Status check_options(const Machine& machine);

struct ReadBack {
    RunOptions options;
    recorder::RunPlan plan;
    std::vector<std::string> doubts;
};
// `typed`: port, baud and ways of starting, which go over the file.
[[nodiscard]] Result<ReadBack> read_back(const std::string& file, const RunOptions& typed);

// Written, then read back; a file that cannot be used is not left behind. `report`: lines for its
// head.
[[nodiscard]] Result<ReadBack> written(const Machine& machine,
                                       const std::vector<std::string>& report);

struct Tried {
    std::vector<calibration::FewDrops> units;
    std::vector<calibration::Finding> findings;
};
[[nodiscard]] Result<Tried> tried(const ReadBack& back, const Machine& machine, const TryTalk& talk,
                                  recorder::Clock& clock);
// Places of gates that the try has shown, where nobody has said them.
void take_places(const std::vector<calibration::FewDrops>& units, Machine& machine);
[[nodiscard]] std::vector<std::string> report_of(const Tried& tried);

} // namespace dropledger::cli
