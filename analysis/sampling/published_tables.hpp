// The files of analysis/sampling/tables as text, compiled in.
#pragma once

#include <string_view>

namespace dropledger::batch {

// "code-letters", "single-normal", "single-tightened", "single-reduced"; the whole file, sources
// included.
[[nodiscard]] std::string_view published_table(std::string_view name);

} // namespace dropledger::batch
