// Profiles that come with the program, as text; and what a profile says of misses.
#pragma once

#include "analysis/verdict/profile.hpp"

#include <optional>
#include <string_view>

namespace dropledger::evidence {

[[nodiscard]] std::optional<std::string_view> known_profile(std::string_view name);

// The largest share of misses (portion mode: empty drops) of a good unit; line mode has none.
[[nodiscard]] std::optional<double> miss_limit(const verdict::Profile& profile);

} // namespace dropledger::evidence
