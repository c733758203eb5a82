// The field audit as one JSON object, schema dropledger/field/1.
//
// Places are [longitude, latitude] in degrees, or [east, north] in metres where the table is in a
// plane system (`places` says which). `probability_missing` is null where only its bounds are
// known.
#pragma once

#include "analysis/field/audit.hpp"

#include <string>

namespace dropledger::report::field {

[[nodiscard]] std::string to_json(const dropledger::field::FieldAudit& audit);

} // namespace dropledger::report::field
