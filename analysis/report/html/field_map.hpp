// The map: passes as lines, gaps as bars on them, alerts as marks by judgement, north up.
//
// Geographic places are laid flat about their middle (equirectangular), good to a few thousandths
// over a farm.
#pragma once

#include "analysis/field/audit.hpp"

#include <string>

namespace dropledger::report::field {

[[nodiscard]] std::string map_markup(const dropledger::field::FieldAudit& audit);

} // namespace dropledger::report::field
