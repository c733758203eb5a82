#include "analysis/sampling/sampling_plan.hpp"

#include "analysis/base/text.hpp"
#include "analysis/sampling/diagonal_rule.hpp"
#include "analysis/sampling/published_tables.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace dropledger::batch {

namespace {

using Row = std::vector<std::string_view>;

Error usage(std::string what, std::string remedy) {
    return usage_error("plan acceptance", std::move(what), std::move(remedy));
}

// Lines of a table without its sources; the first is the head.
std::vector<Row> rows_of(std::string_view name) {
    std::vector<Row> rows;
    for (const std::string_view line : split(published_table(name), '\n'))
        if (!line.empty() && line.front() != '#')
            rows.push_back(split(trim(line), ','));
    return rows;
}

std::int64_t whole(std::string_view text) {
    const auto value = parse_int(text);
    if (!value)
        throw BrokenInvariant(fmt::format("published table: '{}' is no whole number", text));
    return *value;
}

// "50:1/2"
AttributePlan cell(std::string_view text) {
    const auto colon = split(text, ':');
    const auto numbers = split(colon.at(1), '/');
    return {.letter = 'A',
            .n = whole(colon.at(0)),
            .accept = whole(numbers.at(0)),
            .reject = whole(numbers.at(1)),
            .whole_lot = false,
            .computed = false};
}

// Column 0 holds the letter.
std::optional<std::size_t> aql_column(double aql) {
    const auto& aqls = table_aqls();
    for (std::size_t i = 0; i < aqls.size(); ++i)
        if (std::abs(aqls[i] - aql) < 1e-9)
            return i + 1;
    return std::nullopt;
}

AttributePlan published_cell(char letter, std::size_t column, Severity severity) {
    const auto rows = rows_of(fmt::format("single-{}", word_of(severity)));
    const auto row = std::find_if(rows.begin() + 1, rows.end(), [&](const Row& candidate) {
        return candidate.front() == std::string_view{&letter, 1};
    });
    if (row == rows.end())
        throw BrokenInvariant(fmt::format("published table: no letter {}", letter));
    AttributePlan plan = cell(row->at(column));
    plan.letter = letter;
    return plan;
}

} // namespace

Result<Severity> parse_severity(std::string_view word) {
    if (const auto severity = value_named(severity_names, word))
        return *severity;
    return usage(fmt::format("unknown severity '{}'", word), "say normal, tightened or reduced");
}

const std::vector<double>& table_aqls() {
    static const std::vector<double> aqls = [] {
        std::vector<double> numbers;
        const Row head = rows_of("single-normal").front();
        for (std::size_t i = 1; i < head.size(); ++i)
            numbers.push_back(parse_double(head[i]).value());
        return numbers;
    }();
    return aqls;
}

Result<char> code_letter(std::int64_t lot, std::string_view level) {
    const auto rows = rows_of("code-letters");
    const Row& head = rows.front();
    const auto column = std::find(head.begin() + 2, head.end(), level) - head.begin();
    if (column == static_cast<std::ptrdiff_t>(head.size()))
        return usage(fmt::format("unknown inspection level '{}'", level),
                     "take I, II, III, S-1, S-2, S-3 or S-4");
    for (std::size_t i = 1; i < rows.size(); ++i)
        if (lot >= whole(rows[i][0]) && (rows[i][1].empty() || lot <= whole(rows[i][1])))
            return rows[i].at(static_cast<std::size_t>(column)).front();
    return usage(fmt::format("a lot of {} units", lot), "the tables begin at two units");
}

Result<AttributePlan> single_plan(const LotRequest& request) {
    const auto letter = code_letter(request.lot, request.level);
    if (!letter)
        return letter.error();
    const auto column = aql_column(request.aql);
    const auto found = column ? std::optional{published_cell(*letter, *column, request.severity)}
                              : plan_by_rule(*letter, request.aql, request.severity);
    if (!found)
        return usage(fmt::format("an AQL of {} is not in the tables", request.aql),
                     fmt::format("take one of {}", fmt::join(rule_aqls(), ", ")));
    AttributePlan plan = *found;
    plan.whole_lot = plan.n >= request.lot;
    plan.n = std::min(plan.n, request.lot);
    return plan;
}

LotOutcome judge(const AttributePlan& plan, std::int64_t nonconforming) {
    if (nonconforming < 0 || nonconforming > plan.n)
        throw BrokenInvariant(fmt::format("judge: {} nonconforming of {}", nonconforming, plan.n));
    if (nonconforming <= plan.accept)
        return LotOutcome::accepted;
    return nonconforming < plan.reject ? LotOutcome::accepted_ends_reduced
                                       : LotOutcome::not_accepted;
}

} // namespace dropledger::batch
