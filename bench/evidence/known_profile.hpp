// Profiles that come with the program, as text; and what a profile says in words.
#pragma once

#include "analysis/verdict/profile.hpp"

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::evidence {

[[nodiscard]] std::optional<std::string_view> known_profile(std::string_view name);

// "miss_index at most 0.05", one a limit.
[[nodiscard]] std::vector<std::string> limits_in_words(const verdict::Profile& profile);

// The largest share of misses (portion mode: empty drops) of a good unit; line mode has none.
[[nodiscard]] std::optional<double> miss_limit(const verdict::Profile& profile);

} // namespace dropledger::evidence
