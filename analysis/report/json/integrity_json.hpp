// A log's integrity as a JSON object: the keys that `audit` and `check` share.
#pragma once

#include "analysis/droplog/integrity.hpp"

#include <nlohmann/json_fwd.hpp>

namespace dropledger::report {

[[nodiscard]] nlohmann::ordered_json integrity_json(const droplog::Integrity& integrity);

} // namespace dropledger::report
