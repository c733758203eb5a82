// The map: passes as lines, gaps as bars on them, alerts as marks by judgement, north up.
//
// Geographic places are laid flat about their middle (equirectangular), good to a few thousandths
// over a farm.
#pragma once

#include "analysis/field/audit.hpp"

#include <string>
#include <string_view>

namespace dropledger::report::field {

[[nodiscard]] std::string map_markup(const dropledger::field::FieldAudit& audit);
[[nodiscard]] std::string_view map_style();
[[nodiscard]] std::string_view map_script();

} // namespace dropledger::report::field
