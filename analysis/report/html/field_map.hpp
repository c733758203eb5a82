// The maps, one a field: passes as lines, gaps as bars on them, alerts as marks by judgement, stops
// of the walk by their number, north up.
//
// Geographic places are laid flat about each field's middle (equirectangular), good to a few
// thousandths over a farm. Without the script a map stands still; with it one finger pans, two
// zoom, a tap tells of the nearest mark.
#pragma once

#include "analysis/field/audit.hpp"

#include <string>

namespace dropledger::report::field {

[[nodiscard]] std::string map_markup(const dropledger::field::FieldAudit& audit);

} // namespace dropledger::report::field
