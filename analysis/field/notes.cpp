#include "analysis/field/notes.hpp"
#include "analysis/measures/number_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

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

std::string some_of(std::size_t some, std::size_t all, const char* what) {
    const auto number = [](std::size_t count) { return grouped(static_cast<std::int64_t>(count)); };
    return some == all ? fmt::format("all {} {}", number(all), what)
                       : fmt::format("{} of {} {}", number(some), number(all), what);
}

// "in pass 7 and row 3", "in all 48 passes and 4 of 8 rows"
std::string where_lost(const Field& field) {
    std::set<std::int64_t> passes;
    std::set<std::int64_t> rows;
    for (const auto& [key, count] : field.lost) {
        passes.insert(key.pass);
        rows.insert(key.row);
    }
    std::set<std::int64_t> all_passes;
    std::set<std::int64_t> all_rows;
    for (const auto& [key, line] : field.lines) {
        all_passes.insert(key.pass);
        all_rows.insert(key.row);
    }
    const std::string in_passes = passes.size() == 1
                                      ? "pass " + field.pass_name(*passes.begin())
                                      : some_of(passes.size(), all_passes.size(), "passes");
    const std::string in_rows = rows.size() == 1 ? "row " + field.row_name(*rows.begin())
                                                 : some_of(rows.size(), all_rows.size(), "rows");
    return fmt::format("in {} and {}", in_passes, in_rows);
}

void say_what_lacks(FieldAudit& audit) {
    const Field& field = audit.field;
    const std::int64_t lost = field.lost_drops();
    if (lost == 0)
        return;
    const bool is_table = field.facts.rows > 0;
    const bool some_kept_out = field.rows_bad > field.facts.duplicates;
    audit.lacking = fmt::format(
        "By their numbers {} of {} drops {} not in the {}{}, {}: what happened there is not known, "
        "and gaps may be more and longer than is said here. {}",
        grouped(lost), grouped(field.drops + lost), lost == 1 ? "is" : "are",
        is_table ? "table" : "logs",
        some_kept_out ? " or stand in its lines that were kept out" : "", where_lost(field),
        is_table ? "Export the table again, whole, unless nothing was to be sown there."
                 : "Take the logs from the machine again, whole.");
}

} // namespace

void add_notes(FieldAudit& audit) {
    say_what_lacks(audit);
    note_unknown_rows(audit);
    note_efficiencies(audit);
}

} // namespace dropledger::field
