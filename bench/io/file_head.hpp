// A file's first bytes, where they tell what it is.
#pragma once

#include "analysis/base/result.hpp"

#include <cstddef>
#include <string>

namespace dropledger::files {

// At most `most`; fewer where the file ends before.
[[nodiscard]] Result<std::string> head_of(const std::string& file, std::size_t most);

} // namespace dropledger::files
