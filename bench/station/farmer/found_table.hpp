// What was dug up, as its form and as the table that `field --found` takes.
//
// Assumes: the table is as this writes it: pass, row, first_drop, last_drop, found. A field of the
// form is named "found:" and the first four, with commas between; one that is not shown, "shown:", holds what
// it said at first.
// Undefined when: the table there has other columns: it is refused, and let be.
#pragma once

#include "analysis/field/audit.hpp"
#include "bench/station/server/request.hpp"

#include <string>

namespace dropledger::station {

// Of the stops of the walk, and of what was said before: that can be corrected, or taken out.
[[nodiscard]] Result<std::string> found_fields(const field::FieldAudit& audit,
                                               const std::string& file);

// The table with what a filled-in walking list says: of its stops those where something was found.
[[nodiscard]] Result<std::string> found_on_walk(const std::string& walk, const std::string& file);

// The table with what the form says: a blank takes a place out; what it showed and shows still says
// nothing.
[[nodiscard]] Result<std::string> found_table(const Fields& form, const std::string& file);

} // namespace dropledger::station
