#include "analysis/field/notes.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::field {

namespace {

std::string percent(double share) {
    return fmt::format("{:.1f} %", 100.0 * share);
}

// What the neighbours would say of a row that is silent more often than they are.
void note_neighbours(const RowReport& row, Assumption assumption, std::vector<std::string>& notes) {
    if (!row.judge.neighbours || row.judge.neighbours->least_row == row.judge.row ||
        row.judge.silent_share < 2.0 * row.judge.neighbours->least_silent_most)
        return;
    const Neighbours& least = *row.judge.neighbours;
    notes.push_back(
        fmt::format("Row {} is silent at {} of its drops between outages, row {} at {} only (at "
                    "most {}). Were all gates alike, seed would "
                    "be missing at {} or more of them; were all meters alike, at {} or less. {}",
                    row.judge.row, percent(row.judge.silent_share), least.least_row,
                    percent(least.least_silent), percent(least.least_silent_most),
                    percent(least.missing_if_gates_alike), percent(least.missing_if_meters_alike),
                    assumption == Assumption::none ? "The drops alone can't tell which it is."
                    : assumption == Assumption::gates_alike
                        ? "That all gates are alike was stated by the user, and judged by."
                        : "That all meters are alike was stated by the user, and judged by."));
}

void note_efficiencies(FieldAudit& audit) {
    std::string rows;
    for (const RowReport& row : audit.rows) {
        if (!row.judge.efficiency && row.silent > 0)
            rows += fmt::format("{}{}", rows.empty() ? "" : ", ", row.judge.row);
        if (row.judge.efficiency && !row.judge.efficiency->source.empty())
            audit.notes.push_back(fmt::format(
                "Row {}: gate efficiency {} ({} to {}), calibration {}.", row.judge.row,
                percent(row.judge.efficiency->value), percent(row.judge.efficiency->low),
                percent(row.judge.efficiency->high), row.judge.efficiency->source));
        note_neighbours(row, audit.options.assumption, audit.notes);
    }
    if (!rows.empty())
        audit.notes.push_back(fmt::format(
            "No gate efficiency is known of {}: {}. What would settle them: a look at a length of "
            "the row, or a bench run of "
            "the unit against a second gate, then its calibration or the share it counts.",
            rows.find(',') == std::string::npos ? "row " + rows : "rows " + rows,
            audit.options.assumption == Assumption::none
                ? "their single silent drops can't be told"
                : "their single silent drops rest on the assumption stated"));
}

void note_unknown_rows(FieldAudit& audit) {
    for (const auto& given : audit.options.gate_efficiencies)
        if (std::none_of(audit.rows.begin(), audit.rows.end(),
                         [&](const RowReport& row) { return row.judge.row == given.first; }))
            audit.notes.push_back(
                fmt::format("A gate efficiency is given for row {}, which the input does not hold.",
                            given.first));
}

} // namespace

void add_notes(FieldAudit& audit) {
    note_unknown_rows(audit);
    note_efficiencies(audit);
}

} // namespace dropledger::field
