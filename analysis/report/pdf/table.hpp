// A table that flows over pages; its head stands on each of them.
//
// Assumes: columns side by side from the left margin; every row has one cell a column. Long cells
// wrap inside their column and are cut with an ellipsis after six lines.
#pragma once

#include "analysis/report/pdf/paper.hpp"

#include <string>
#include <vector>

namespace dropledger::report::certificate {

struct TableColumn {
    std::string head;
    double width = 0.0; // with the room to the next
    Align align = Align::left;
};

struct TableRow {
    std::vector<std::string> cells;
    bool bold = false;
};

void table(Paper& paper, const std::vector<TableColumn>& columns,
           const std::vector<TableRow>& rows);

} // namespace dropledger::report::certificate
