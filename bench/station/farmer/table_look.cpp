#include "bench/station/farmer/table_look.hpp"

#include "analysis/base/readers/csv_reader.hpp"
#include "analysis/base/text.hpp"
#include "analysis/field/table/decoded_source.hpp"
#include "analysis/field/table/header.hpp"
#include "analysis/field/table/names.hpp"
#include "analysis/field/table/row_reader.hpp"
#include "bench/io/file_head.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <map>

namespace dropledger::station {

namespace {

using Row = std::vector<std::string>;

constexpr std::size_t most_lines = 60;  // of titles above the names, as the audit's reader has it
constexpr std::size_t most_rows = 5000; // that are looked at as they stand

std::vector<Row> cut(const TableLook& look, char separator, std::size_t most) {
    StringSource bytes(look.bytes);
    field::DecodedSource decoded(bytes);
    CsvReader reader(decoded, CsvReader::Comments::none, separator);
    CsvRecord record;
    std::vector<Row> rows;
    for (auto more = reader.next(record); more && *more && rows.size() < most;
         more = reader.next(record)) {
        Row& row = rows.emplace_back();
        for (const std::string_view field : record.fields)
            row.emplace_back(trim(field));
        while (!row.empty() && row.back().empty())
            row.pop_back();
    }
    return rows;
}

struct Cut {
    std::size_t width = 1; // of most lines
    std::size_t alike = 0; // lines that have it
};

Cut cut_of(const std::vector<Row>& rows) {
    std::map<std::size_t, std::size_t> lines;
    for (const Row& row : rows)
        ++lines[row.size()];
    Cut best;
    for (const auto& [width, alike] : lines)
        if (width > 1 && alike >= best.alike)
            best = {width, alike};
    return best;
}

char separator_of(const TableLook& look) {
    char found = ',';
    Cut best;
    for (const char separator : {';', '\t', '|', ','}) {
        const Cut one = cut_of(cut(look, separator, most_lines));
        if (one.alike > best.alike) {
            best = one;
            found = separator;
        }
    }
    return found;
}

// The names stand in the first line as wide as most that holds no number; in the first as wide where
// each holds one.
std::size_t line_of_names(const std::vector<Row>& rows) {
    const std::size_t width = cut_of(rows).width;
    std::optional<std::size_t> as_wide;
    for (std::size_t i = 0; i < std::min(rows.size(), most_lines); ++i) {
        if (rows[i].size() < width)
            continue;
        if (std::none_of(rows[i].begin(), rows[i].end(),
                         [](const std::string& text) { return number_in(text).has_value(); }))
            return i;
        as_wide = as_wide.value_or(i);
    }
    return as_wide.value_or(0);
}

ReadRow read_row(field::RowReader& reader, Reading& reading) {
    ReadRow row;
    row.pass = reader.name(field::Column::pass);
    row.row = reader.name(field::Column::row);
    const std::int64_t unread = reading.clock.facts.times_unread;
    row.drop = reader.drop(reading.clock.facts);
    row.has_time = reading.has_time && reading.clock.facts.times_unread == unread;
    row.field = reader.text(field::Column::field);
    row.reason = reader.reason();
    reading.kept_out += row.reason.empty() ? 0 : 1;
    return row;
}

Reading reading_by(const field::Header& header, const field::Mapping& mapping) {
    Reading reading;
    reading.geographic = (header.has(field::Column::lat) && header.has(field::Column::lon)) ||
                         mapping.utm.has_value();
    reading.has_time = header.has(field::Column::time);
    reading.has_alerts = header.has(field::Column::alert);
    reading.has_fields = header.has(field::Column::field);
    reading.has_offsets = header.has(field::Column::offset_mm);
    reading.clock.zone = mapping.zone;
    return reading;
}

} // namespace

std::optional<double> number_in(std::string text) {
    std::replace(text.begin(), text.end(), ',', '.');
    return parse_double(text);
}

std::optional<std::string> TableLook::column(std::string_view name) const {
    const auto found = std::find_if(columns.begin(), columns.end(), [&](const std::string& one) {
        return field::same_name(one, trim(name));
    });
    return found == columns.end() ? std::nullopt : std::optional(*found);
}

std::vector<std::string> TableLook::values(const std::string& column) const {
    const auto found = std::find(columns.begin(), columns.end(), column);
    const auto at = static_cast<std::size_t>(found - columns.begin());
    std::vector<std::string> said;
    for (const Row& row : rows)
        if (at < row.size() && !row[at].empty())
            said.push_back(row[at]);
    return said;
}

Result<TableLook> look_at(const std::string& file, std::optional<char> separator) {
    auto first = files::head_of(file, looked_at_bytes);
    if (!first)
        return first.error();
    const bool is_whole = first->size() < looked_at_bytes;
    if (!is_whole)
        first->resize(first->rfind('\n') + 1); // no half row
    TableLook look{.file = std::filesystem::path(file).filename().string(),
                   .bytes = *std::move(first),
                   .is_whole = is_whole,
                   .columns = {},
                   .rows = {}};
    look.separator = separator.value_or(separator_of(look));
    look.rows = cut(look, look.separator, most_rows);
    if (look.rows.empty())
        return look;
    const auto names = look.rows.begin() + static_cast<std::ptrdiff_t>(line_of_names(look.rows));
    look.columns = *names;
    look.rows.erase(look.rows.begin(), names + 1);
    return look;
}

Result<Reading> read_as(const TableLook& look, const field::Mapping& mapping, std::size_t most) {
    StringSource bytes(look.bytes);
    field::DecodedSource decoded(bytes);
    const auto header = field::find_header(decoded, look.file, mapping);
    if (!header)
        return header.error();
    Reading reading = reading_by(*header, mapping);
    CsvReader records(decoded, CsvReader::Comments::none, header->separator);
    CsvRecord record;
    auto more = records.next(record); // the names
    const field::Answers answers;
    field::RowReader reader(*header, mapping, answers);
    for (more = records.next(record); more && *more && reading.rows.size() < most;
         more = records.next(record)) {
        reader.begin(record);
        reading.rows.push_back(read_row(reader, reading));
    }
    if (!more)
        return more.error();
    return reading;
}

std::string Reading::time_of(const ReadRow& row) const {
    if (!has_time)
        return "no time";
    if (!row.has_time)
        return "can't be read";
    if (!clock.facts.has_dates) {
        const auto second = static_cast<std::int64_t>(std::floor(row.drop.time_s));
        return fmt::format("{:02}:{:02}:{:02}, no date", second / 3600, second / 60 % 60,
                           second % 60);
    }
    std::string text = clock.date_and_time(row.drop.time_s);
    std::replace(text.begin(), text.end(), 'T', ' ');
    return text.empty() ? "no time of our day" : text;
}

std::string Reading::place_of(const ReadRow& row) const {
    if (!row.drop.has_place)
        return "no place";
    if (!geographic)
        return fmt::format("{:.2f} m east, {:.2f} m north", row.drop.at.x, row.drop.at.y);
    return fmt::format("{:.6f}° {}, {:.6f}° {}", std::abs(row.drop.at.y),
                       row.drop.at.y < 0.0 ? "S" : "N", std::abs(row.drop.at.x),
                       row.drop.at.x < 0.0 ? "W" : "E");
}

const ReadRow* Reading::first_good() const {
    const auto found = std::find_if(rows.begin(), rows.end(),
                                    [](const ReadRow& row) { return row.reason.empty(); });
    return found == rows.end() ? nullptr : &*found;
}

} // namespace dropledger::station
