// A table that flows over pages; its head stands on each of them.
//
// Assumes: columns side by side from the left margin; every row has one cell a column. A column
// whose longest word does not fit takes room from those that have some: words break only where the
// page is too narrow for all. Cells are cut with an ellipsis after six lines. Neither at its
// beginning nor at its end does a table leave fewer than four rows on a page.
#pragma once

#include "analysis/report/pdf/paper.hpp"

#include <string>
#include <vector>

namespace dropledger::report::certificate {

struct TableColumn {
    std::string head;
    double width = 0.0; // with the room to the next
    Align align = Align::left;
    bool hex = false; // hashes and keys: digits of one width
};

struct TableRow {
    std::vector<std::string> cells;
    bool bold = false;
};

void table(Paper& paper, std::vector<TableColumn> columns, const std::vector<TableRow>& rows);

} // namespace dropledger::report::certificate
