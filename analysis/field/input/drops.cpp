#include "analysis/field/input/drops.hpp"

#include "analysis/base/readers/csv_table.hpp"
#include "analysis/base/text.hpp"

#include <GeographicLib/UTMUPS.hpp>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>

namespace dropledger::field {

namespace {

constexpr std::size_t absent = std::numeric_limits<std::size_t>::max();

std::size_t index_of(Column column) {
    return static_cast<std::size_t>(column);
}

// Where each of our columns stands in the table.
struct Header {
    std::array<std::size_t, column_count> at{};
    std::size_t width = 0;

    [[nodiscard]] bool has(Column column) const { return at.at(index_of(column)) != absent; }
};

Error bad_header(const std::string& file, std::string what) {
    return input_error(
        fmt::format("{}:1", file), std::move(what),
        "the table needs pass, row, drop, target, seen, and lat, lon or east_m, north_m; name "
        "other "
        "columns in a mapping file");
}

Result<Header> read_header(CsvReader& records, const std::string& file, const Mapping& mapping) {
    CsvRecord record;
    const auto any = records.next(record);
    if (!any)
        return any.error();
    if (!*any || record.damaged)
        return bad_header(file, "no header line");
    Header header;
    header.at.fill(absent);
    header.width = record.fields.size();
    for (std::size_t i = 0; i < record.fields.size(); ++i)
        for (std::size_t c = 0; c < column_count; ++c)
            if (trim(record.fields[i]) == mapping.names.at(c)) {
                if (header.at.at(c) != absent)
                    return bad_header(file,
                                      fmt::format("two columns are named {}", mapping.names.at(c)));
                header.at.at(c) = i;
            }
    for (const Column needed :
         {Column::pass, Column::row, Column::drop, Column::target, Column::seen})
        if (!header.has(needed))
            return bad_header(file,
                              fmt::format("no column {}; {}", mapping.names.at(index_of(needed)),
                                          columns_found(record.fields)));
    const bool geographic = header.has(Column::lat) && header.has(Column::lon);
    if (!geographic && !(header.has(Column::east_m) && header.has(Column::north_m)))
        return bad_header(file, fmt::format("no columns lat and lon, nor east_m and north_m; {}",
                                            columns_found(record.fields)));
    return header;
}

// One row on its way to a drop; the first thing wrong with it is its reason.
class RowReader {
public:
    RowReader(const Header& header, const Mapping& mapping, char separator)
        : header_(&header), mapping_(&mapping), separator_(separator) {}

    void begin(const CsvRecord& record) {
        record_ = &record;
        reason_.clear();
        if (record.damaged)
            reason_ = "a quote that is not closed, or a line too long";
        else if (record.fields.size() != header_->width)
            reason_ = fmt::format("{} fields where the header has {}", record.fields.size(),
                                  header_->width);
    }

    [[nodiscard]] const std::string& reason() const { return reason_; }

    std::string_view text(Column column) const {
        const std::size_t at = header_->at.at(index_of(column));
        return at == absent || at >= record_->fields.size() ? std::string_view{}
                                                            : trim(record_->fields[at]);
    }

    double number(Column column, double least, double most) {
        if (!reason_.empty())
            return 0.0;
        const auto value = parse(text(column));
        if (!value)
            return fail(column, "is no number");
        const double ours = *value * mapping_->factors.at(index_of(column));
        return ours >= least && ours <= most ? ours : fail(column, "is out of range");
    }

    std::int64_t whole(Column column, std::int64_t least, std::int64_t most) {
        if (!reason_.empty())
            return 0;
        const std::string_view shown = text(column);
        std::optional<std::int64_t> value = parse_int(shown);
        if (!value) { // spreadsheets write 1 as 1.0
            const auto real = parse(shown);
            if (real && std::abs(*real) < 1e15 && *real == std::floor(*real))
                value = static_cast<std::int64_t>(*real);
        }
        if (!value)
            return static_cast<std::int64_t>(fail(column, "is no whole number"));
        return *value >= least && *value <= most
                   ? *value
                   : static_cast<std::int64_t>(fail(column, "is out of range"));
    }

    double fail(Column column, std::string_view why) {
        if (reason_.empty())
            reason_ = fmt::format("{} '{}' {}", column_names.at(index_of(column)),
                                  text(column).substr(0, 40), why);
        return 0.0;
    }

private:
    [[nodiscard]] std::optional<double> parse(std::string_view shown) const {
        if (!mapping_->decimal_comma)
            return csv_number(shown, separator_);
        std::string dotted(shown);
        std::replace(dotted.begin(), dotted.end(), ',', '.');
        return parse_double(dotted);
    }

    const Header* header_;
    const Mapping* mapping_;
    char separator_;
    const CsvRecord* record_ = nullptr;
    std::string reason_;
};

double time_of(RowReader& row, const Header& header, const Mapping& mapping) {
    if (!header.has(Column::time) || !row.reason().empty())
        return 0.0;
    const auto time = parse_time(row.text(Column::time), mapping.utc_offset_minutes);
    if (!time)
        return row.fail(Column::time, "is neither RFC 3339 nor seconds since 1970");
    return parse_double(row.text(Column::time)) ? *time * mapping.factors.at(0) : *time;
}

Place place_of(RowReader& row, const Header& header, const Mapping& mapping) {
    if (header.has(Column::lat) && header.has(Column::lon))
        return {row.number(Column::lon, -180.0, 180.0), row.number(Column::lat, -90.0, 90.0)};
    constexpr double far_m = 1e8; // beyond any plane system
    Place place{row.number(Column::east_m, -far_m, far_m),
                row.number(Column::north_m, -far_m, far_m)};
    if (!mapping.utm || !row.reason().empty())
        return place;
    try {
        double lat = 0.0;
        double lon = 0.0;
        GeographicLib::UTMUPS::Reverse(mapping.utm->zone, mapping.utm->north, place.x, place.y, lat,
                                       lon);
        return {lon, lat};
    } catch (const GeographicLib::GeographicErr&) {
        row.fail(Column::east_m, "lies outside the UTM zone");
        return place;
    }
}

bool alert_of(RowReader& row) {
    const std::string_view text = row.text(Column::alert);
    if (text.empty() || text == "0" || text == "1")
        return text == "1";
    return row.whole(Column::alert, 0, 1) == 1;
}

struct Keyed {
    LineKey key;
    FieldDrop drop;
};

Keyed keyed_drop(RowReader& row, const Header& header, const Mapping& mapping) {
    constexpr std::int64_t most = std::numeric_limits<std::int32_t>::max();
    Keyed read;
    read.key = {row.whole(Column::pass, -most, most), row.whole(Column::row, 0, most)};
    read.drop.drop = row.whole(Column::drop, 0, 1'000'000'000'000);
    read.drop.target = static_cast<std::uint32_t>(row.whole(Column::target, 0, most));
    read.drop.seen = static_cast<std::uint32_t>(row.whole(Column::seen, 0, most));
    read.drop.at = place_of(row, header, mapping);
    read.drop.time_s = time_of(row, header, mapping);
    read.drop.alert = alert_of(row);
    if (!row.text(Column::offset_mm).empty()) {
        read.drop.offset_mm = static_cast<float>(row.number(Column::offset_mm, -1e6, 1e6));
        read.drop.has_offset = true;
    }
    return read;
}

void add_bad(Field& field, std::uint64_t line, std::string reason) {
    ++field.rows_bad;
    if (field.bad_samples.size() < bad_samples_kept)
        field.bad_samples.push_back({line, std::move(reason)});
}

// A drop given twice: the first stands, the others are bad rows.
void keep_first(Field& field, std::vector<FieldDrop>& line) {
    const auto by_drop = [](const FieldDrop& a, const FieldDrop& b) {
        return a.drop != b.drop ? a.drop < b.drop : a.line < b.line;
    };
    if (!std::is_sorted(line.begin(), line.end(), by_drop))
        std::sort(line.begin(), line.end(), by_drop);
    std::size_t kept = 0;
    for (std::size_t i = 0; i < line.size(); ++i) {
        if (kept > 0 && line[kept - 1].drop == line[i].drop)
            add_bad(field, line[i].line,
                    fmt::format("this pass, row and drop stand already in line {}",
                                line[kept - 1].line));
        else
            line[kept++] = line[i];
    }
    line.resize(kept);
}

Status read_rows(CsvReader& records, const Header& header, const Mapping& mapping,
                 const std::string& file, Field& field) {
    constexpr std::int64_t most_drops = 4'000'000; // all of them are held at once
    std::int64_t taken = 0;
    RowReader row(header, mapping, records.separator());
    CsvRecord record;
    std::vector<FieldDrop>* last = nullptr;
    LineKey last_key;
    for (;;) {
        const auto more = records.next(record);
        if (!more)
            return more.error();
        if (!*more)
            return Done{};
        if (++taken > most_drops)
            return input_error(
                file, fmt::format("over {} drops, more than are audited at once", most_drops),
                "cut the table by fields or nights");
        row.begin(record);
        Keyed read = keyed_drop(row, header, mapping);
        if (!row.reason().empty()) {
            add_bad(field, record.line, row.reason());
            continue;
        }
        read.drop.line = static_cast<std::uint32_t>(record.line);
        field.has_offsets |= read.drop.has_offset;
        if (last == nullptr || read.key != last_key) {
            last = &field.lines[read.key];
            last_key = read.key;
        }
        last->push_back(read.drop);
    }
}

// Rows are compared with each other and passes by where they lie.
Status check_extent(const Field& field, const std::string& file) {
    constexpr std::size_t most_rows = 512;
    constexpr std::size_t most_passes = 20'000;
    std::set<std::int64_t> rows;
    std::set<std::int64_t> passes;
    for (const auto& [key, line] : field.lines) {
        rows.insert(key.row);
        passes.insert(key.pass);
    }
    if (rows.size() > most_rows)
        return input_error(
            file,
            fmt::format("{} different rows, more than the {} that a machine can have", rows.size(),
                        most_rows),
            "the row column gives the seeding unit on the machine");
    if (passes.size() > most_passes)
        return input_error(file,
                           fmt::format("{} passes, more than the {} that are audited at once",
                                       passes.size(), most_passes),
                           "cut the table by fields or nights");
    return Done{};
}

} // namespace

void settle(Field& field, std::string_view source_has) {
    for (auto& [key, line] : field.lines) {
        keep_first(field, line);
        field.drops += static_cast<std::int64_t>(line.size());
    }
    std::sort(field.bad_samples.begin(), field.bad_samples.end(),
              [](const BadRow& a, const BadRow& b) { return a.line < b.line; });
    if (!field.has_time)
        field.notes.push_back(
            fmt::format("{} no time: nothing is said about the time of night.", source_has));
    if (!field.has_alerts)
        field.notes.push_back(fmt::format(
            "{} no alerts: gaps are found and judged, but no alert can be.", source_has));
}

Result<Field> read_field(ByteSource& source, const std::string& file, const Mapping& mapping) {
    CsvReader records(source, CsvReader::Comments::none, mapping.separator);
    const auto header = read_header(records, file, mapping);
    if (!header)
        return header.error();
    Field field;
    field.geographic =
        (header->has(Column::lat) && header->has(Column::lon)) || mapping.utm.has_value();
    field.has_time = header->has(Column::time);
    field.has_alerts = header->has(Column::alert);
    if (const Status rows = read_rows(records, *header, mapping, file, field); !rows)
        return rows.error();
    if (const Status extent = check_extent(field, file); !extent)
        return extent.error();
    settle(field, "The table has");
    if (field.drops == 0)
        return input_error(file,
                           field.rows_bad == 0
                               ? std::string("no drops in it")
                               : fmt::format("none of its {} rows can be read; line {}: {}",
                                             field.rows_bad, field.bad_samples.front().line,
                                             field.bad_samples.front().reason),
                           "check the columns against the description of the field table");
    return field;
}

} // namespace dropledger::field
