// Two runs side by side, for a terminal of 80 columns.
#pragma once

#include "analysis/audit/model/before_after.hpp"

#include <string>

namespace dropledger::report {

[[nodiscard]] std::string to_text(const audit::BeforeAfter& compared);

} // namespace dropledger::report
