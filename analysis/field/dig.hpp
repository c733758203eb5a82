// Where to dig first: the one gap whose look settles most of what can't be told.
//
// A look at one episode of a row that comes and goes tells of all its others, and of the rows that
// fell silent with it; a look at a length of single silent drops tells how often seed is missing
// there. Counted are open alerts, then open metres. Undefined when: nothing is open.
#pragma once

#include "analysis/field/audit.hpp"

#include <optional>

namespace dropledger::field {

[[nodiscard]] std::optional<Dig> where_to_dig(const FieldAudit& audit);

} // namespace dropledger::field
