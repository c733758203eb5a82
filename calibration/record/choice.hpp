// Which of many calibrations speaks for one gate of one unit on one day, where nobody named one.
//
// A record comes into question where everything it holds for is stated by the run and equal to it,
// it was made on the run's day or before, and it is for that gate. Of those, one that had not
// expired goes before one that had (an expired one is named and shown, but does not judge); then
// the one that is more particular (its own unit before bench before crop); then the newer; then the
// id, so that the choice never depends on an order of files.
// A calibration made after the run is never chosen by itself: what it found may have been mended in
// between.
#pragma once

#include "analysis/audit/options.hpp"
#include "calibration/record/record.hpp"

#include <optional>
#include <string>
#include <vector>

namespace dropledger::calibration {

struct GateOfRun {
    std::string bench;
    std::string crop;
    std::string unit;
    int gate = 1;
    std::string day; // of the run, YYYY-MM-DD; empty: not known, then nothing is chosen
    std::optional<statistics::Interval> seed_mm; // of the lot; not known: any size will do
    std::string named; // the log's own word (`calibration`): then only that one; may be empty
};

// The names that a log or an operator gives at once: "A, B".
[[nodiscard]] std::vector<std::string> ids_in(const std::string& named);

// Each value (efficiency, flight time, pulse classes) may come from another record; empty where
// none speaks for it. What comes back holds nothing but what it was chosen for, and holds for that
// unit.
[[nodiscard]] std::vector<Record> chosen(const std::vector<Record>& records,
                                         const GateOfRun& wanted);

// The newest valid lead for the unit, of either gate.
[[nodiscard]] const Record* chosen_lead(const std::vector<Record>& records,
                                        const GateOfRun& wanted);

// Chooses for the judging gate of every channel and applies that; says which channels go without.
[[nodiscard]] audit::Calibrate choosing_from(std::vector<Record> records);

} // namespace dropledger::calibration
