// Is re-seeding worth it? Lengths, seeds and time; money where the user says what things cost.
//
// Per gap: (value of a plant) × (plants re-seeding brings back, late ones counting less) − (way to
// it, metres, seeds). Over the field: what doing nothing costs does not depend on the list. Break
// even: the length from which on a gap pays, at this field's spacing of seeds. Undefined when: a
// cost is missing: it is named, and no gain is given.
#pragma once

#include "analysis/field/audit.hpp"

namespace dropledger::field {

// Uses gaps, rows, lines and the walk.
void add_decision(FieldAudit& audit);

} // namespace dropledger::field
