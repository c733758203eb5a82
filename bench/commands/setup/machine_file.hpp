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

// Read back before it is there: a file that cannot be used never is, and what was there before stays.
// `report`: lines for its head.
[[nodiscard]] Result<ReadBack> written(const Machine& machine,
                                       const std::vector<std::string>& report);

struct Tried {
    std::vector<calibration::FewDrops> units;
    std::vector<calibration::Finding> findings;
};
[[nodiscard]] Result<Tried> tried(const ReadBack& back, const Machine& machine, const TryTalk& talk,
                                  recorder::Clock& clock);
// What the gates of all these units show of a place that nobody has said.
struct FoundPlace {
    int gate = 0;
    droplog::GatePlace place = droplog::GatePlace::below;

    [[nodiscard]] std::string line() const;  // of the settings file: gate1_place = "below"
    [[nodiscard]] std::string words() const; // gate 1 sits below the valve
};
[[nodiscard]] std::vector<FoundPlace> places_found(const std::vector<calibration::FewDrops>& units);
// Into a machine that is not written yet, and into a file that a person may have changed: all its
// other lines and remarks stay as they are.
void take_places(const std::vector<calibration::FewDrops>& units, Machine& machine);
[[nodiscard]] Result<ReadBack> written_beside(const std::string& file,
                                              const std::vector<calibration::FewDrops>& units,
                                              const RunOptions& typed);
[[nodiscard]] std::vector<std::string> report_of(const Tried& tried);
// The same once the places that it shows are taken.
[[nodiscard]] std::vector<std::string> report_with_places(Tried tried);
// What a settings file marks as unsure of run and units, each once, as it stands there.
[[nodiscard]] std::vector<std::string> unsure_in(std::string_view settings);

} // namespace dropledger::cli
