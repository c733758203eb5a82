// The calibration that a run is made under, by the same rules as its audit.
//
// `head`: as the run's log will have it. Fails where a named record is for another unit, bench, gate
// or crop and that was not allowed.
#pragma once

#include "analysis/droplog/integrity.hpp"
#include "calibration/record/record.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::calibration {

struct RunChoice {
    std::vector<Record> records;
    // Ids that the operator named, whether `records` holds them or not; none: what speaks for each
    // unit is chosen from `records`.
    std::optional<std::vector<std::string>> named;
    bool anyway = false; // foreign ones too
    std::string day;     // YYYY-MM-DD
};

struct GateFall {
    int channel = 0;
    int gate = 0;
    std::int64_t fall_us = 0;
};

struct WantedLead {
    std::string id; // of the record that wants it
    int channel = 0;
    std::int64_t wanted_us = 0;
    std::optional<std::int64_t> in_force_us; // the head's; another than wanted
};

struct RunCalibration {
    std::string ids;                // as the log names them; empty: none
    std::vector<GateFall> falls;    // that a record knows and the head does not state
    std::vector<std::string> notes; // sentences
    std::vector<WantedLead> leads;
};

[[nodiscard]] Result<RunCalibration> calibration_of_run(const droplog::Header& head,
                                                        const RunChoice& choice);

} // namespace dropledger::calibration
