// Scenarios that come with the program, by name.
#pragma once

#include "analysis/base/result.hpp"

#include <string>
#include <string_view>

namespace dropledger::cli {

// The text of fixtures/scenarios/NAME.toml as it was when the program was built.
[[nodiscard]] Result<std::string_view> known_scenario(const std::string& name);

// Whether --scenario means a file: by its form, or because there is one.
[[nodiscard]] bool is_scenario_file(const std::string& name_or_file);

} // namespace dropledger::cli
