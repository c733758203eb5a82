// Machines of invented units for the comparison of siblings: binomial or clustered misses,
// placement errors that may wander, lines in clusters. The same seed gives the same machine.
#pragma once

#include "analysis/audit/audit.hpp"

#include <cstdint>
#include <string>
#include <vector>

namespace dropledger::testing {

struct InventedUnit {
    double miss = 0.02;
    double row = 1.0; // mean length of a row of misses; 1: independent
    double multiple = 0.02;
    double offset_mm = 3.0;
    double memory = 0.0; // correlation of neighbouring errors
};

// 500 drops each.
[[nodiscard]] std::vector<audit::ChannelReport> machine(const std::vector<InventedUnit>& units,
                                                        std::uint64_t seed);
// Lines of 500 segments: clusters of five seeds on average, ten seeds a segment.
[[nodiscard]] std::vector<audit::ChannelReport> machine_of_lines(int units, std::uint64_t seed);

struct Alarms {
    std::string name;
    int machines = 0;
    int alarms = 0; // machines on which any unit is named
};

// Machines of six equal units.
[[nodiscard]] std::vector<Alarms> false_alarms(int machines);

struct Power {
    std::string name;
    int machines = 0;
    int by_profile = 0; // machines on which the odd unit is named, by a profile's usual differences
    int at_all = 0;     // where nothing is too small to be named
};

// Machines of six units, one of which is unlike the others.
[[nodiscard]] std::vector<Power> powers(int machines);

} // namespace dropledger::testing
