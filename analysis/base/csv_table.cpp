#include "analysis/base/csv_table.hpp"

#include "analysis/base/text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger {

namespace {

std::string unquoted(std::string_view field) {
    field = trim(field);
    if (field.size() >= 2 && field.front() == '"' && field.back() == '"')
        field = trim(field.substr(1, field.size() - 2));
    return std::string(field);
}

std::vector<std::string> fields_of(std::string_view line) {
    std::vector<std::string> out;
    for (const std::string_view field : split(line, ','))
        out.push_back(unquoted(field));
    return out;
}

} // namespace

Result<CsvTable> CsvTable::read(std::string_view text, const std::string& file,
                                const CsvColumns& columns) {
    constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";
    if (text.substr(0, byte_order_mark.size()) == byte_order_mark)
        text.remove_prefix(byte_order_mark.size());
    CsvTable table;
    table.file_ = file;
    for (const std::string_view line : split(text, '\n')) {
        ++table.line_;
        const std::string_view content = trim(line);
        if (content.empty() || content.front() == '#')
            continue;
        const Status status = table.where_.empty() ? table.take_header(fields_of(content), columns)
                                                   : table.take_row(fields_of(content));
        if (!status)
            return status.error();
    }
    if (table.where_.empty())
        return table.at_line("no header",
                             fmt::format("begin with {}", fmt::join(columns.needed, ",")));
    if (table.rows_.empty())
        return table.at_line("no values under the header", "one row a measurement");
    return table;
}

Status CsvTable::take_header(const std::vector<std::string>& names, const CsvColumns& columns) {
    names_ = columns.needed;
    names_.insert(names_.end(), columns.optional.begin(), columns.optional.end());
    for (const std::string& name : names_) {
        const auto found = std::find(names.begin(), names.end(), name);
        const bool needed =
            std::find(columns.needed.begin(), columns.needed.end(), name) != columns.needed.end();
        if (found == names.end() && needed)
            return at_line(fmt::format("no column '{}'", name),
                           fmt::format("the header needs {}", fmt::join(columns.needed, ",")));
        if (std::count(names.begin(), names.end(), name) > 1)
            return at_line(fmt::format("column '{}' is there twice", name), "keep one of them");
        where_.push_back(found == names.end() ? -1 : static_cast<int>(found - names.begin()));
    }
    return Done{};
}

Status CsvTable::take_row(const std::vector<std::string>& fields) {
    CsvRow row{line_, {}};
    for (std::size_t column = 0; column < where_.size(); ++column) {
        if (where_[column] < 0) {
            row.fields.emplace_back();
            continue;
        }
        const auto at = static_cast<std::size_t>(where_[column]);
        if (at >= fields.size() || fields[at].empty())
            return at_line(fmt::format("nothing in column '{}'", names_[column]),
                           "fill it in, or remove the line");
        row.fields.push_back(fields[at]);
    }
    rows_.push_back(std::move(row));
    return Done{};
}

Result<double> CsvTable::number(const CsvRow& row, std::size_t column) const {
    const auto value = parse_double(row.fields[column]);
    if (!value)
        return problem(
            row, fmt::format("{} is '{}', expected a number", names_[column], row.fields[column]),
            "digits with a decimal point");
    constexpr double most =
        1e12; // nothing that is measured here: sums of squares keep their digits
    if (!(std::fabs(*value) <= most))
        return problem(row,
                       fmt::format("{} is {}, which cannot be", names_[column], row.fields[column]),
                       "correct it");
    return *value;
}

Error CsvTable::problem(const CsvRow& row, std::string what, std::string remedy) const {
    return {ErrorKind::input, fmt::format("{}:{}", file_, row.line), std::move(what),
            std::move(remedy)};
}

Error CsvTable::at_line(std::string what, std::string remedy) const {
    return {ErrorKind::input, fmt::format("{}:{}", file_, line_), std::move(what),
            std::move(remedy)};
}

} // namespace dropledger
