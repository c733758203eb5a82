// Where to dig first: the one gap whose look settles most of what can't be told.
//
// What a look tells beyond its own place is said in judge/looks.hpp; `Findings` judges by the same
// rule. Counted are open alerts, then open metres. Undefined when: nothing is open.
#pragma once

#include "analysis/field/audit.hpp"

#include <optional>

namespace dropledger::field {

[[nodiscard]] std::optional<Dig> where_to_dig(const FieldAudit& audit);

} // namespace dropledger::field
