// The form of a table's columns: the table as it stands, what may be said of it, and what comes of it.
//
// Assumes: `choices` is what is said so far; markup comes back.
#pragma once

#include "bench/station/farmer/column_choices.hpp"

#include <string>
#include <vector>

namespace dropledger::station {

// The first rows as they stand.
[[nodiscard]] std::string rows_as_they_stand(const TableLook& look);

// What each column means, and how it is written; a choice says what it would make of the first row.
[[nodiscard]] std::string column_fields(const TableLook& look, const Choices& choices);

// What the first rows of these tables become; the first of them is shown.
[[nodiscard]] std::string what_comes_of_it(const std::vector<TableLook>& looks,
                                           const Choices& choices);

// The fields that must be said yet, as the page calls them: "Date order, Unit of the placement error".
[[nodiscard]] std::string names_of(const std::vector<std::string>& lacking);

} // namespace dropledger::station
