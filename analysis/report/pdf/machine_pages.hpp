// The machine's sheet as a PDF of one A4 page.
//
// Assumes: loads_drawing() succeeded (can_draw() in pages.hpp). Same input, same fonts and same cairo give the same
// bytes: no clock is read. Two pages only where there are more units than one page has lines for.
#pragma once

#include "analysis/report/words/machine_sheet.hpp"

#include <string>

namespace dropledger::report::certificate {

// `program`: its name and version, for the foot; `created`: RFC 3339 with Z.
[[nodiscard]] std::string to_pdf(const MachineSheet& sheet, const std::string& program,
                                 const std::string& created);

} // namespace dropledger::report::certificate
