// Two runs side by side as JSON: schema dropledger/compare/1.
#pragma once

#include "analysis/audit/model/before_after.hpp"

#include <nlohmann/json_fwd.hpp>

namespace dropledger::report {

[[nodiscard]] nlohmann::ordered_json to_json(const audit::BeforeAfter& compared);

} // namespace dropledger::report
