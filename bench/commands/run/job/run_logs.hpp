// Which logs of a folder are still open.
#pragma once

#include <string>

namespace dropledger::cli {

// Whether the log's last whole line closes it. Only its end is read.
[[nodiscard]] bool is_closed(const std::string& log);

} // namespace dropledger::cli
