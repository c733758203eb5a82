// Finds a tolerance profile: by name among those that come with the program, or in a file.
#pragma once

#include "analysis/audit/options.hpp"

#include <optional>
#include <string>
#include <vector>

namespace dropledger::cli {

// Of a profile or record that may be named or given: it ends in .toml or holds a slash.
[[nodiscard]] bool names_a_file(const std::string& name);

[[nodiscard]] std::vector<std::string> profile_names();

[[nodiscard]] Result<verdict::Profile> find_profile(const std::string& name_or_file);

// The operator's profile; else the one the log names, where it is known; else the general one of
// the mode.
[[nodiscard]] audit::ChooseProfile profile_chooser(std::optional<std::string> name_or_file);

} // namespace dropledger::cli
