// SHA-256 of a file's bytes, lower-case hex, as `sha256sum` prints it.
#pragma once

#include "analysis/base/result.hpp"

#include <string>

namespace dropledger::files {

[[nodiscard]] Result<std::string> hash_of(const std::string& file);

} // namespace dropledger::files
