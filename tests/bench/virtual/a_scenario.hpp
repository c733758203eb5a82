// Small scenarios for tests, as text so that every test can change what it is about.
#pragma once

#include "bench/virtual/unit/scenario.hpp"

#include <stdexcept>
#include <string>

namespace dropledger::bench_virtual {

inline constexpr const char* single_toml = R"(name = "test"
seed = 7

[bench]
id = "bench-t"
mode = "single"
spacing_mm = 180
speed_mps = 0.25
drops = 200

[crop]
name = "chicory"
seed_mm = 1.6
terminal_mps = 3.8

[unit]
cells = 24
fill = 0.9
doubles = 0.05
[unit.gate0]
place = "above"
height_mm = 60
detection = 0.97
[unit.gate1]
place = "below"
height_mm = 50
detection = 0.95

[[channel]]
unit = "T-1"
)";

// `text` with the first `from` replaced; a test whose `from` is not there is wrong.
inline std::string with(std::string text, const std::string& from, const std::string& to) {
    const auto at = text.find(from);
    if (at == std::string::npos)
        throw std::logic_error("the test's scenario has no " + from);
    return text.replace(at, from.size(), to);
}

inline Scenario scenario_of(const std::string& text) {
    auto scenario = parse_scenario(text, "test.toml");
    if (!scenario)
        throw std::logic_error(scenario.error().message());
    return *scenario;
}

inline Scenario single_scenario() {
    return scenario_of(single_toml);
}

inline Scenario portion_scenario() {
    return scenario_of(with(with(single_toml, "\"single\"", "\"portion\"\ncount = 5"), "cells = 24",
                            "cells = 20"));
}

inline Scenario line_scenario(const std::string& gap_cv) {
    const std::string line = with(with(single_toml, "\"single\"", "\"line\"\nrate_per_m = 30"),
                                  "spacing_mm = 180\n", "");
    return scenario_of(with(line, "cells = 24", "gap_cv = " + gap_cv));
}

} // namespace dropledger::bench_virtual
