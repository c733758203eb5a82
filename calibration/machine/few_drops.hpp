// What a few drops of one unit show, while nothing else of the machine drops: which gates saw seed,
// when, and how far from its place the seed landed.
//
// Assumes: the log holds one short run whose order named one channel.
// Units: in the names; an offset is positive where seed lands late.
// Undefined when: no gate below the valve with a stated fall saw enough seed: no offset.
#pragma once

#include "analysis/base/readers/byte_source.hpp"
#include "analysis/base/result.hpp"
#include "analysis/droplog/settings.hpp"
#include "analysis/statistics/basics/estimate.hpp"

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <utility>

namespace dropledger::calibration {

struct GateSeen {
    std::int64_t pulses = 0;
    std::int64_t before_first_drop = 0; // of these
    std::int64_t after_last_drop = 0;
};

struct FewDrops {
    int channel = 0;
    std::string unit;
    std::int64_t drops = 0;
    std::map<std::pair<int, int>, GateSeen> gates; // channel and gate that reported it
    std::map<int, droplog::GatePlace> stated;      // of the unit's own gates
    std::optional<statistics::Estimate> offset_mm;

    [[nodiscard]] std::int64_t pulses(int gate_channel, int gate) const;
};

// Where the gate sits, by the seed before the first drop and after the last one: a gate above the
// valve sees its seed beforehand, one below afterwards.
// Undefined when: both or neither was seen.
[[nodiscard]] std::optional<droplog::GatePlace> place_of(const GateSeen& seen);

[[nodiscard]] Result<FewDrops> few_drops(const OpenBytes& log, const std::string& name,
                                         int channel);

} // namespace dropledger::calibration
