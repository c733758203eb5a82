// Passes of a field table, driven both ways, as runs of a lead calibration.
//
// A pass is a run: its mean offset (landing − commanded, counted in its own direction of travel),
// its speed from places and times. What stays where it is on the ground, such as an antenna or map
// that is off, changes its sign with the direction; a lag always lies behind. Passes that run
// neither along the longest one nor against it are left out.
// Units: mm, m/s.
// Assumes: each pass is nearly straight and of one speed.
// Undefined when: several rows and none named, fewer than 20 offsets in every pass, or all passes
// one way: refused, saying what can't be told then.
#pragma once

#include "analysis/field/input/drops.hpp"
#include "calibration/lead/lead.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::calibration {

struct FieldPasses {
    std::vector<LeadRun> runs;
    std::vector<std::string> notes; // what was left out, and why
};

[[nodiscard]] Result<FieldPasses> field_passes(const field::Field& field, const std::string& file,
                                               std::optional<std::int64_t> row);

} // namespace dropledger::calibration
