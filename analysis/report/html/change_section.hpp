// Two runs side by side, as a part of a page.
#pragma once

#include "analysis/audit/model/before_after.hpp"

#include <string>

namespace dropledger::report::html {

[[nodiscard]] std::string change_section(const audit::BeforeAfter& compared);
[[nodiscard]] std::string change_page(const audit::BeforeAfter& compared);

} // namespace dropledger::report::html
