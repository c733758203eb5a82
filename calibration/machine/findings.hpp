// What is wrong with a machine's settings or plugs, by a few drops of each unit in turn.
//
// How: seed that shows up on another channel's gate means swapped plugs; a gate that a setting
// states and that saw nothing while another one saw seed, a dead gate; offsets of all units that
// agree among themselves to a third of what they are off, one number that all share.
// Assumes: a machine that drops most of its seed; a few drops say nothing of misses and multiples.
// Units: in the names. The thresholds are our own choice.
#pragma once

#include "calibration/machine/few_drops.hpp"

#include <optional>
#include <span>
#include <string>
#include <vector>

namespace dropledger::calibration {

enum class FindingKind : std::uint8_t {
    no_seed,          // no gate of the machine saw any
    gate_silent,      // one of two that should have seen it
    gate_sees_little, // under three quarters of the drops, and the other gate saw more
    plugged_elsewhere,
    place_contradicted,
    place_unstated,
    all_off_alike,
    one_off,
};

struct Finding {
    FindingKind kind = FindingKind::no_seed;
    std::optional<int> channel; // none: the machine
    std::string what;           // a sentence
    std::string remedy;         // a sentence, or empty
    std::optional<int> gate{};  // of place_unstated
};

// `speed_um_s`: at which they ran.
[[nodiscard]] std::vector<Finding> machine_findings(std::span<const FewDrops> units,
                                                    std::int64_t speed_um_s);

} // namespace dropledger::calibration
