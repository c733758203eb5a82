// A file is replaced as a whole or not at all.
//
// Assumes: one writer per path at a time, or each under a FileLock: of two, the later rename wins.
#pragma once

#include "analysis/base/result.hpp"

#include <string>
#include <string_view>

namespace dropledger::files {

// Writes beside `path`, syncs, and renames over it: whoever looks sees the old content or the new,
// and after a failure the old. A link is followed. What is no regular file (a pipe, a terminal) is
// written to directly.
[[nodiscard]] Status write_file_aside(const std::string& path, std::string_view content);

// The same where nothing is there yet; of several writers at once one makes it, and the others are
// refused.
[[nodiscard]] Status write_new_file(const std::string& path, std::string_view content);

} // namespace dropledger::files
