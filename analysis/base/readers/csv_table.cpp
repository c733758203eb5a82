#include "analysis/base/readers/csv_table.hpp"

#include "analysis/base/text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger {

namespace {

std::vector<std::string_view> trimmed(const std::vector<std::string_view>& fields) {
    std::vector<std::string_view> out;
    out.reserve(fields.size());
    for (const std::string_view field : fields)
        out.push_back(trim(field));
    return out;
}

// A header that parts its columns in two ways hides one: "drop,no;landing_mm".
std::optional<char> other_separator_of(const std::vector<std::string_view>& names,
                                       std::string_view wanted) {
    for (const char separator : {';', ',', '\t'})
        for (const std::string_view field : names)
            for (const std::string_view part : split(field, separator))
                if (part.size() < field.size() && trim(part) == wanted)
                    return separator;
    return std::nullopt;
}

} // namespace

std::string columns_found(const std::vector<std::string_view>& names) {
    constexpr std::size_t most = 40;
    const auto end = names.begin() + static_cast<std::ptrdiff_t>(std::min(names.size(), most));
    return fmt::format("the file has: {}{}", fmt::join(names.begin(), end, ", "),
                       names.size() > most ? ", …" : "");
}

Result<CsvTable> CsvTable::read(std::string_view text, const std::string& file,
                                const CsvColumns& columns) {
    CsvTable table;
    table.file_ = file;
    StringSource source{std::string(text)};
    CsvReader reader(source, CsvReader::Comments::lines);
    CsvRecord record;
    for (;;) {
        const auto more = reader.next(record);
        if (!more)
            return more.error();
        if (!*more)
            break;
        table.separator_ = reader.separator();
        if (const Status taken = table.take(record, columns); !taken)
            return taken.error();
    }
    if (table.where_.empty())
        return table.at_line("no header",
                             fmt::format("begin with {}", fmt::join(columns.needed, ",")));
    if (table.rows_.empty())
        return table.at_line("no values under the header", "one row a measurement");
    return table;
}

Status CsvTable::take(const CsvRecord& record, const CsvColumns& columns) {
    line_ = record.line;
    if (record.damaged)
        return at_line("a quote that is not closed, or a line too long", "correct the line");
    const auto fields = trimmed(record.fields);
    return where_.empty() ? take_header(fields, columns) : take_row(fields);
}

Status CsvTable::take_header(const std::vector<std::string_view>& names,
                             const CsvColumns& columns) {
    width_ = names.size();
    names_ = columns.needed;
    names_.insert(names_.end(), columns.optional.begin(), columns.optional.end());
    for (const std::string& name : names_) {
        const auto found = std::find(names.begin(), names.end(), name);
        const bool needed =
            std::find(columns.needed.begin(), columns.needed.end(), name) != columns.needed.end();
        if (const auto other =
                found == names.end() && needed ? other_separator_of(names, name) : std::nullopt)
            return at_line(fmt::format("column '{}' is separated from its neighbours by '{}', the "
                                       "others are not",
                                       name, *other == '\t' ? "tab" : std::string(1, *other)),
                           "separate all columns by one sign, in every line the same");
        if (found == names.end() && needed)
            return at_line(fmt::format("no column '{}'; {}", name, columns_found(names)),
                           fmt::format("the header needs {}", fmt::join(columns.needed, ",")));
        if (std::count(names.begin(), names.end(), name) > 1)
            return at_line(fmt::format("column '{}' is there twice", name), "keep one of them");
        where_.push_back(found == names.end() ? -1 : static_cast<int>(found - names.begin()));
    }
    return Done{};
}

Status CsvTable::take_row(const std::vector<std::string_view>& fields) {
    if (fields.size() != width_)
        return at_line(
            fmt::format("{} fields where the header has {}", fields.size(), width_),
            "give every line the header's columns; put a field that holds the separator in quotes");
    if (separator_ == only_column && fields.front().find_first_of(",;\t") != std::string::npos &&
        !csv_number(fields.front(), separator_))
        return at_line(fmt::format("'{}' where the header has one column", fields.front()),
                       "name the other columns in the header, or give one value a line");
    CsvRow row{line_, {}};
    for (std::size_t column = 0; column < where_.size(); ++column) {
        if (where_[column] < 0) {
            row.fields.emplace_back();
            continue;
        }
        const auto at = static_cast<std::size_t>(where_[column]);
        if (fields[at].empty())
            return at_line(fmt::format("nothing in column '{}'", names_[column]),
                           "fill it in, or remove the line");
        row.fields.emplace_back(fields[at]);
    }
    rows_.push_back(std::move(row));
    return Done{};
}

Result<double> CsvTable::number(const CsvRow& row, std::size_t column) const {
    const auto value = csv_number(row.fields[column], separator_);
    if (!value)
        return problem(
            row, fmt::format("{} is '{}', expected a number", names_[column], row.fields[column]),
            "digits with a decimal point, or in a table with semicolons with a decimal comma");
    constexpr double most =
        1e12; // nothing that is measured here: sums of squares keep their digits
    if (!(std::fabs(*value) <= most))
        return problem(row,
                       fmt::format("{} is {}, which cannot be", names_[column], row.fields[column]),
                       "correct it");
    return *value;
}

Error CsvTable::problem(const CsvRow& row, std::string what, std::string remedy) const {
    return input_error(fmt::format("{}:{}", file_, row.line), std::move(what), std::move(remedy));
}

Error CsvTable::at_line(std::string what, std::string remedy) const {
    return input_error(fmt::format("{}:{}", file_, line_), std::move(what), std::move(remedy));
}

} // namespace dropledger
