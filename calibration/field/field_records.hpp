// Gate efficiencies for a field audit out of bench calibration records.
//
// A record is foreign where its unit is not the row's, its gate not the one that saw the field's
// drops or its crop another; expired where the field's last drop is behind its last day. Foreign
// ones are refused unless told; an expired one is named and not used.
#pragma once

#include "analysis/field/input/drops.hpp"
#include "analysis/field/judge/judge.hpp"
#include "calibration/record/record.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::calibration {

struct RowRecord {
    std::optional<std::int64_t> row; // else the rows that its unit sits in
    std::string file;                // for messages
    Record record;
};

// Sentences on foreign and expired records go into the field's notes.
[[nodiscard]] Status add_efficiencies(const std::vector<RowRecord>& records, bool anyway,
                                      field::Field& field, field::GateEfficiencies& efficiencies);

} // namespace dropledger::calibration
