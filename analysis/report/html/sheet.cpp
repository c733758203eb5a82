#include "analysis/report/html/sheet.hpp"

#include "analysis/report/html/tables.hpp"
#include "analysis/report/pictures/markup.hpp"

#include <fmt/format.h>

namespace dropledger::report::html {

using pictures::element;
using pictures::escaped;
using pictures::typeset;

namespace {

// `data-is`: the column's title, for a screen too narrow for a table.
std::string unit_row(const MachineSheet& sheet, const SheetUnit& unit) {
    std::string cells = element("td", "data-is=\"row\"", escaped(unit.row)) +
                        element("th", "scope=\"row\"", escaped(unit.unit)) +
                        element("td", "", outcome_tag(unit.outcome)) +
                        element("td", fmt::format("class=\"n\" data-is=\"{}\"", sheet.counted_what),
                                escaped(unit.counted));
    for (std::size_t i = 0; i < unit.found.size(); ++i)
        cells += element(
            "td", fmt::format("data-is=\"{}\"", i < sheet.columns.size() ? sheet.columns[i] : ""),
            typeset(unit.found[i]));
    return element("tr", "", cells) + "\n";
}

std::string unit_table(const MachineSheet& sheet) {
    std::string head;
    for (const char* const name : {"row", "unit", "verdict"})
        head += element("th", "scope=\"col\"", name);
    head += element("th", "class=\"n\" scope=\"col\"", escaped(sheet.counted_what));
    for (const std::string& name : sheet.columns)
        head += element("th", "scope=\"col\"", escaped(name));
    std::string rows;
    for (const SheetUnit& unit : sheet.units)
        rows += unit_row(sheet, unit);
    return pictures::scrolling("units", element("table", "class=\"full\"",
                                                element("thead", "", element("tr", "", head)) +
                                                    element("tbody", "", "\n" + rows))) +
           "\n";
}

std::string task_list(const MachineSheet& sheet) {
    if (sheet.tasks.empty())
        return paragraph("Nothing: no unit shows a cause.");
    std::string items;
    for (const SheetTask& task : sheet.tasks)
        items += element("li", "",
                         element("b", "", escaped(task.who)) + ": " + typeset(task.cause) + "." +
                             (task.next.empty() ? ""
                                                : " " + element("i", "", "Next:") + " " +
                                                      typeset(task.next) + ".")) +
                 "\n";
    if (sheet.tasks_left_out > 0)
        items +=
            element("li", "", fmt::format("and {} more: see the report.", sheet.tasks_left_out));
    return element("ul", "class=\"tasks\"", "\n" + items) + "\n";
}

std::string setting_list(const MachineSheet& sheet) {
    std::string rows;
    for (const ContextRow& row : sheet.set)
        rows += element("dt", "", escaped(row.label)) + element("dd", "", typeset(row.text)) + "\n";
    return element("dl", "class=\"context set\"", "\n" + rows) + "\n";
}

// Below the sheet's title, above what the annex calls its units.
std::string part_heading(const char* text) {
    return element("h2", "", text) + "\n";
}

std::string signature() {
    std::string fields;
    for (const char* const name : {"date", "name", "signature"})
        fields += element("div", "", name);
    return element("div", "class=\"sign\"", fields) + "\n";
}

} // namespace

std::string sheet_section(const MachineSheet& sheet) {
    return element(
               "section", "class=\"sheet\"",
               "\n" + paragraph("Machine sheet", "kind") + element("h1", "", escaped(sheet.title)) +
                   "\n" + paragraph(sheet.lead, "lead") + paragraph(sheet.subject, "cap") +
                   unit_table(sheet) + part_heading("What to do") + task_list(sheet) +
                   part_heading("What was set") + setting_list(sheet) + part_heading("Cautions") +
                   bullet_list(sheet.cautions) + paragraph(sheet.document, "cap") + signature()) +
           "\n";
}

} // namespace dropledger::report::html
