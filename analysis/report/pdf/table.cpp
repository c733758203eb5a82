#include "analysis/report/pdf/table.hpp"

#include <algorithm>

namespace dropledger::report::certificate {

namespace {

constexpr double between = 8.0; // columns
constexpr double padding = 2.2; // above and below a cell
constexpr int most_lines = 6;

class Printer {
public:
    Printer(Paper& paper, const std::vector<TableColumn>& columns)
        : paper_(paper), columns_(columns) {}

    void head() {
        TableRow row;
        for (const TableColumn& column : columns_)
            row.cells.push_back(column.head);
        row.bold = true;
        print(row, height_of(row));
        rule(0.8);
    }

    void row(const TableRow& row) {
        const double height = height_of(row);
        if (paper_.keep_together(height))
            head();
        print(row, height);
        rule(0.25);
    }

private:
    [[nodiscard]] double height_of(const TableRow& row) {
        double height = 0.0;
        for (std::size_t i = 0; i < columns_.size(); ++i)
            height = std::max(height, paper_.height_of(row.cells[i], box(i, row.bold)));
        return height + 2.0 * padding;
    }

    void print(const TableRow& row, double height) {
        for (std::size_t i = 0; i < columns_.size(); ++i)
            paper_.put(row.cells[i], box(i, row.bold), paper_.y() + padding);
        paper_.gap(height);
    }

    void rule(double width) {
        paper_.line({Paper::left, paper_.y()}, {Paper::right, paper_.y()}, width);
    }

    [[nodiscard]] TextBox box(std::size_t column, bool bold) const {
        double x = Paper::left;
        for (std::size_t i = 0; i < column; ++i)
            x += columns_[i].width;
        return {.x = x,
                .width = columns_[column].width - between,
                .type = bold ? Type::small_bold : Type::small,
                .align = columns_[column].align,
                .most_lines = most_lines};
    }

    Paper& paper_;
    const std::vector<TableColumn>& columns_;
};

} // namespace

void table(Paper& paper, const std::vector<TableColumn>& columns,
           const std::vector<TableRow>& rows) {
    Printer printer(paper, columns);
    paper.keep_together(44.0); // the head and a row or two
    printer.head();
    for (const TableRow& row : rows)
        printer.row(row);
}

} // namespace dropledger::report::certificate
