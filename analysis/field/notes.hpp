// What the audit says of its own ground: efficiencies known and not, neighbours, the table.
#pragma once

#include "analysis/field/audit.hpp"

namespace dropledger::field {

void add_notes(FieldAudit& audit);

} // namespace dropledger::field
