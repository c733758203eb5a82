// Gate efficiencies for a field audit from the command line: shares, and bench calibration records
// (calibration/field).
#pragma once

#include "analysis/field/input/drops.hpp"
#include "analysis/field/judge/judge.hpp"

#include <string>
#include <vector>

namespace dropledger::cli {

struct EfficiencyOptions {
    std::vector<std::string> shares; // ROW=SHARE
    // ROW=RECORD.toml, or RECORD.toml where the field knows its units
    std::vector<std::string> calibrations;
    bool anyway = false;
};

// Sentences on foreign and expired records go into the field's notes.
[[nodiscard]] Result<field::GateEfficiencies> gate_efficiencies(const EfficiencyOptions& options,
                                                                field::Field& field);

} // namespace dropledger::cli
