// The machine's sheet as the first page of the report: one A4 page on paper, the rest is its annex.
#pragma once

#include "analysis/report/words/machine_sheet.hpp"

#include <string>

namespace dropledger::report::html {

[[nodiscard]] std::string sheet_section(const MachineSheet& sheet);

} // namespace dropledger::report::html
