// A run over a strip whose landings were measured by rule: which pulse of the gate was which seed
// on the strip.
//
// With a drop number beside each landing, a pulse and a landing belong together where their drop
// has one of each. Without numbers, landing − travel position at the pulse is the same for every
// right pair (but for scatter), so right pairs crowd.
// Units: mm and m/s in travel's own direction.
// Assumes: one boot; the rule lies along the travel, counting as it does.
// Undefined when: no gate below the valve, several channels and none named, nothing matches, or a
// regular pattern fits one drop further on as well and nothing says which: refused.
#pragma once

#include "analysis/base/readers/byte_source.hpp"
#include "calibration/flight/flight.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::calibration {

struct RuleReading {
    std::optional<std::int64_t> drop;
    double landing_mm = 0.0; // on the rule
};

// CSV with the column landing_mm and, where known, drop; all rows have a number, or none.
[[nodiscard]] Result<std::vector<RuleReading>> read_rule(std::string_view text,
                                                         const std::string& file);

struct StripWhere {
    std::string file;
    std::optional<int> channel; // the only one where not said
    int gate = 1;
    std::optional<double> expected_us = {}; // flight time to start from; the log's where not said
    std::optional<double> zero_mm = {};     // travel position of the rule's zero
};

struct Strip {
    std::string file;
    std::string unit;
    int channel = 0;
    std::vector<Landing> matched; // landing_mm as read on the rule
    std::int64_t pulses = 0;
    std::int64_t readings = 0;
    std::int64_t several = 0; // readings of drops with several pulses or readings: left out
    std::optional<double> step_mm = {};         // in which travel is told
    std::optional<std::int64_t> stated_us = {}; // flight time in the log
    bool flight_taken_small = false; // no flight time was known: under half a spacing of travel,
                                     // else drops are off by one
};

[[nodiscard]] Result<Strip> match_strip(const OpenBytes& open, const StripWhere& where,
                                        const std::vector<RuleReading>& readings);

} // namespace dropledger::calibration
