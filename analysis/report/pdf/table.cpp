#include "analysis/report/pdf/table.hpp"

#include <algorithm>
#include <numeric>

namespace dropledger::report::certificate {

namespace {

constexpr double between = 8.0; // columns
constexpr double padding = 2.2; // above and below a cell
constexpr int most_lines = 6;
constexpr std::size_t least_together = 4; // rows on a page

// What the longest word of each column needs; of many cells only the longest texts are measured.
std::vector<double> needs_of(Paper& paper, const std::vector<TableColumn>& columns,
                             const std::vector<TableRow>& rows) {
    constexpr std::size_t measured = 8;
    std::vector<double> needs;
    for (std::size_t i = 0; i < columns.size(); ++i) {
        std::vector<std::string> texts;
        texts.reserve(rows.size() + 1);
        for (const TableRow& row : rows)
            texts.push_back(row.cells[i]);
        std::sort(texts.begin(), texts.end(),
                  [](const std::string& a, const std::string& b) { return a.size() > b.size(); });
        texts.resize(std::min(texts.size(), measured));
        texts.push_back(columns[i].head);
        double need = 0.0;
        for (const std::string& text : texts)
            need = std::max(
                need, paper.widest_word(text, columns[i].hex ? Type::mono : Type::small_bold));
        needs.push_back(need + between + 1.0);
    }
    return needs;
}

// Columns that are too narrow take, in proportion, from what others have beyond their need.
void fit(std::vector<TableColumn>& columns, const std::vector<double>& needs) {
    double wanted = 0.0;
    double spare = 0.0;
    for (std::size_t i = 0; i < columns.size(); ++i) {
        wanted += std::max(0.0, needs[i] - columns[i].width);
        spare += std::max(0.0, columns[i].width - needs[i]);
    }
    if (!(wanted > 0.0) || !(spare > 0.0))
        return;
    const double given = std::min(1.0, spare / wanted);
    const double taken = std::min(1.0, wanted / spare);
    for (std::size_t i = 0; i < columns.size(); ++i) {
        const double missing = needs[i] - columns[i].width;
        columns[i].width += missing > 0.0 ? missing * given : missing * taken;
    }
}

class Printer {
public:
    Printer(Paper& paper, const std::vector<TableColumn>& columns)
        : paper_(paper), columns_(columns) {}

    void head() {
        TableRow row;
        for (const TableColumn& column : columns_)
            row.cells.push_back(column.head);
        row.bold = true;
        print(row, height_of(row), "TH");
        rule(0.8);
    }

    void rows(const std::vector<TableRow>& all) {
        std::vector<double> heights;
        heights.reserve(all.size());
        for (const TableRow& row : all)
            heights.push_back(height_of(row));
        begin(heights);
        for (std::size_t i = 0; i < all.size(); ++i) {
            const std::size_t left = all.size() - i;
            const bool end_begins = left == least_together && i > 0;
            const double together =
                end_begins ? std::accumulate(heights.begin() + static_cast<std::ptrdiff_t>(i),
                                             heights.end(), 0.0)
                           : heights[i];
            if (paper_.keep_together(together))
                head();
            print(all[i], heights[i], "TD");
            rule(0.25);
        }
    }

private:
    // Together with the head the first rows, or all of them where they are few.
    void begin(const std::vector<double>& heights) {
        const auto few = static_cast<std::ptrdiff_t>(std::min(heights.size(), least_together));
        constexpr double head_height = 14.0;
        paper_.keep_together(head_height +
                             std::accumulate(heights.begin(), heights.begin() + few, 0.0));
        head();
    }

    [[nodiscard]] double height_of(const TableRow& row) {
        double height = 0.0;
        for (std::size_t i = 0; i < columns_.size(); ++i)
            height = std::max(height, paper_.height_of(row.cells[i], box(i, row)));
        return height + 2.0 * padding;
    }

    void print(const TableRow& row, double height, const char* cell) {
        paper_.begin("TR");
        for (std::size_t i = 0; i < columns_.size(); ++i) {
            paper_.begin(cell);
            paper_.put(row.cells[i], box(i, row), paper_.y() + padding);
            paper_.end(cell);
        }
        paper_.end("TR");
        paper_.gap(height);
    }

    void rule(double width) {
        paper_.line({Paper::left, paper_.y()}, {Paper::right, paper_.y()}, width);
    }

    [[nodiscard]] TextBox box(std::size_t column, const TableRow& row) const {
        double x = Paper::left;
        for (std::size_t i = 0; i < column; ++i)
            x += columns_[i].width;
        return {.x = x,
                .width = columns_[column].width - between,
                .type = row.bold               ? Type::small_bold
                        : columns_[column].hex ? Type::mono
                                               : Type::small,
                .align = columns_[column].align,
                .most_lines = most_lines};
    }

    Paper& paper_;
    const std::vector<TableColumn>& columns_;
};

} // namespace

void table(Paper& paper, std::vector<TableColumn> columns, const std::vector<TableRow>& rows) {
    fit(columns, needs_of(paper, columns, rows));
    paper.begin("Table");
    Printer(paper, columns).rows(rows);
    paper.end("Table");
}

} // namespace dropledger::report::certificate
