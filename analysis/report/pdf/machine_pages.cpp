#include "analysis/report/pdf/machine_pages.hpp"

#include "analysis/report/pdf/paper.hpp"
#include "analysis/report/pdf/table.hpp"

#include <fmt/format.h>

namespace dropledger::report::certificate {

namespace {

constexpr double first_task = 34.0; // points
constexpr double setting_width = 92.0;
constexpr TextBox whole{.x = Paper::left, .width = Paper::full};

void opening(Paper& paper, const MachineSheet& sheet) {
    paper.flow("Machine sheet", whole);
    paper.gap(2.0);
    paper.flow(sheet.title, {.x = Paper::left, .width = Paper::full, .type = Type::title});
    paper.gap(3.0);
    paper.flow(sheet.lead, {.x = Paper::left, .width = Paper::full, .type = Type::lead});
    paper.gap(2.0);
    paper.flow(sheet.subject, {.x = Paper::left, .width = Paper::full, .type = Type::small});
    paper.gap(6.0);
}

void unit_table(Paper& paper, const MachineSheet& sheet) {
    constexpr double offset_more = 46.0; // of the last column, whose cells are the longest
    std::vector<TableColumn> columns{
        {"row", 30.0}, {"unit", 58.0}, {"verdict", 50.0}, {sheet.counted_what, 44.0, Align::right}};
    double used = offset_more;
    for (const TableColumn& column : columns)
        used += column.width;
    const double each = (Paper::full - used) / static_cast<double>(sheet.columns.size());
    for (const std::string& name : sheet.columns)
        columns.push_back({name, each});
    columns.back().width += offset_more;
    std::vector<TableRow> rows;
    for (const SheetUnit& unit : sheet.units) {
        const bool outside = unit.outcome == verdict::Outcome::outside;
        TableRow row{{unit.row, unit.unit,
                      outside ? "OUTSIDE" : std::string(verdict::name_of(unit.outcome)),
                      unit.counted},
                     false};
        row.cells.insert(row.cells.end(), unit.found.begin(), unit.found.end());
        rows.push_back(std::move(row));
    }
    table(paper, columns, rows);
}

void bullet(Paper& paper, const std::string& text, int most_lines, Type type) {
    const TextBox box{.x = Paper::left + 10.0,
                      .width = Paper::full - 10.0,
                      .type = type,
                      .most_lines = most_lines};
    const double height = paper.height_of(text, box);
    paper.keep_together(height);
    paper.put("\xE2\x80\xA2", {.x = Paper::left, .width = 10.0}, paper.y());
    paper.put(text, box, paper.y());
    paper.gap(height + 1.5);
}

void tasks(Paper& paper, const MachineSheet& sheet) {
    paper.heading("What to do", first_task);
    if (sheet.tasks.empty())
        paper.flow("Nothing: no unit shows a cause.", whole);
    const bool many = sheet.tasks.size() > 5;
    const int most_lines = many ? 2 : 4;
    const Type type = many ? Type::small : Type::body;
    for (const SheetTask& task : sheet.tasks)
        bullet(paper,
               fmt::format("{}: {}.{}", task.who, task.cause,
                           task.next.empty() ? "" : " Next: " + task.next + "."),
               most_lines, type);
    if (sheet.tasks_left_out > 0)
        bullet(paper, fmt::format("and {} more: see the report.", sheet.tasks_left_out), 1, type);
}

void settings(Paper& paper, const MachineSheet& sheet) {
    paper.heading("What was set", first_task);
    for (const ContextRow& row : sheet.set) {
        const TextBox box{.x = Paper::left + setting_width,
                          .width = Paper::full - setting_width,
                          .type = Type::small,
                          .most_lines = 3};
        const double height = paper.height_of(row.text, box);
        paper.keep_together(height);
        paper.put(row.label, {.x = Paper::left, .width = setting_width, .type = Type::small_bold},
                  paper.y());
        paper.put(row.text, box, paper.y());
        paper.gap(height + 1.5);
    }
}

void signing(Paper& paper) {
    paper.gap(30.0);
    paper.keep_together(14.0);
    double x = Paper::left;
    for (const auto& [name, width] :
         {std::pair{"date", 90.0}, std::pair{"name", 190.0}, std::pair{"signature", 195.0}}) {
        paper.line({x, paper.y()}, {x + width, paper.y()}, 0.6);
        paper.put(name, {.x = x, .width = width, .type = Type::small}, paper.y() + 2.0);
        x += width + 12.0;
    }
    paper.gap(12.0);
}

Printed print(const MachineSheet& sheet, const std::string& program, const std::string& created,
              int pages) {
    Paper paper({.title = sheet.title + ": " + sheet.subject,
                 .author = program,
                 .created = created,
                 .footer = sheet.document,
                 .pages = pages});
    opening(paper, sheet);
    unit_table(paper, sheet);
    tasks(paper, sheet);
    settings(paper, sheet);
    paper.heading("Cautions", first_task);
    for (const std::string& sentence : sheet.cautions)
        bullet(paper, sentence, 3, Type::small);
    signing(paper);
    return paper.finish();
}

} // namespace

std::string to_pdf(const MachineSheet& sheet, const std::string& program,
                   const std::string& created) {
    return with_page_numbers([&](int pages) { return print(sheet, program, created, pages); });
}

} // namespace dropledger::report::certificate
