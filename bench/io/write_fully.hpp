// write(2) until everything is written.
#pragma once

#include <string_view>

namespace dropledger::files {

// 0, or the system's error number.
[[nodiscard]] int write_fully(int descriptor, std::string_view bytes);

} // namespace dropledger::files
