#include "analysis/field/input/drops.hpp"

#include "analysis/base/dates.hpp"
#include "analysis/base/text.hpp"
#include "analysis/field/input/sense.hpp"
#include "analysis/field/table/names.hpp"
#include "analysis/field/table/row_reader.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::field {

namespace {

constexpr char between_field_and_pass = '\x1F';

// Reads tables one behind the other into one field; names become numbers in the end.
class TablesReader {
public:
    TablesReader(const Mapping& mapping, const Answers& answers)
        : mapping_(&mapping), answers_(&answers) {
        field_.zone = mapping.zone;
    }

    Status read(const Table& table, bool is_field_of_its_own) {
        DecodedSource decoded(*table.source);
        const auto header = find_header(decoded, table.file, *mapping_);
        if (!header)
            return header.error();
        file_ = table.file;
        const bool geographic =
            (header->has(Column::lat) && header->has(Column::lon)) || mapping_->utm.has_value();
        if (tables_++ > 0 && geographic != field_.geographic)
            return Error{ErrorKind::input, table.file,
                         "gives places in another way than the tables before it",
                         "audit them one by one"};
        field_.geographic = geographic;
        field_.has_time &= header->has(Column::time);
        field_.has_alerts &= header->has(Column::alert);
        field_.facts.titles += static_cast<std::int64_t>(header->titles);
        if (field_.facts.encoding.empty())
            field_.facts.encoding = words_of(decoded.encoding());
        CsvReader records(decoded, CsvReader::Comments::none, header->separator);
        CsvRecord record;
        if (const auto own = records.next(record); !own) // the header itself
            return own.error();
        has_fields_ |= is_field_of_its_own || header->has(Column::field);
        return read_rows(records, *header,
                         is_field_of_its_own ? std::optional(table.file) : std::nullopt);
    }

    [[nodiscard]] Field take() {
        if (has_fields_)
            keep_plain_passes();
        rename();
        return std::move(field_);
    }

private:
    Status read_rows(CsvReader& records, const Header& header,
                     const std::optional<std::string>& own_field) {
        RowReader row(header, *mapping_, *answers_);
        CsvRecord record;
        for (;;) {
            const auto more = records.next(record);
            if (!more)
                return more.error();
            if (!*more)
                return Done{};
            row.begin(record);
            take(row, record, own_field, header.titles);
            if (const Status bounded = check_size(); !bounded)
                return bounded.error();
        }
    }

    // A table without end is not read for ever.
    [[nodiscard]] Status check_size() const {
        constexpr std::size_t most_of_a_line = 4'000'000;
        constexpr std::int64_t most_rows = 40'000'000;
        if (field_.facts.rows <= most_rows && (last_ == nullptr || last_->size() <= most_of_a_line))
            return Done{};
        return Error{ErrorKind::input, file_,
                     fmt::format("over {} rows, or {} drops in one pass of one row: more than are "
                                 "audited at once",
                                 most_rows, most_of_a_line),
                     "cut the table by fields or nights"};
    }

    void take(RowReader& row, const CsvRecord& record, const std::optional<std::string>& own_field,
              std::uint64_t titles) {
        Facts& facts = field_.facts;
        ++facts.rows;
        const std::string_view pass = row.name(Column::pass);
        const std::string_view number = row.name(Column::row);
        const FieldDrop drop = row.drop(facts);
        if (!row.reason().empty()) {
            add_bad(field_, record.line + titles, row.reason());
            return;
        }
        facts.seen_none += drop.seen == 0 ? 1 : 0;
        facts.alerts += drop.alert ? 1 : 0;
        facts.seen_above += drop.seen > drop.target ? 1 : 0;
        facts.target_none += drop.target == 0 ? 1 : 0;
        field_.has_offsets |= drop.has_offset;
        const std::string_view own =
            own_field ? std::string_view(*own_field) : row.text(Column::field);
        line_of(pass, number, own).push_back(drop);
    }

    Line& line_of(std::string_view pass, std::string_view row, std::string_view own_field) {
        if (last_ != nullptr && pass == last_pass_ && row == last_row_ && own_field == last_field_)
            return *last_;
        last_pass_ = pass;
        last_row_ = row;
        last_field_ = own_field;
        const std::int64_t id =
            has_fields_ ? passes_.id_of(last_field_ + between_field_and_pass + last_pass_)
                        : passes_.id_of(pass);
        const LineKey key{id, rows_.id_of(row)};
        if (has_fields_ && !labels_.contains(id))
            labels_[id] = {last_field_, last_pass_};
        last_ = &field_.lines[key];
        return *last_;
    }

    struct Label {
        std::string field;
        std::string pass;
    };

    // Where each pass number stands in one field only it is kept.
    void keep_plain_passes() {
        std::map<std::string, std::set<std::string>> fields_of_pass;
        for (const auto& [id, label] : labels_)
            fields_of_pass[label.pass].insert(label.field);
        plain_ = std::all_of(fields_of_pass.begin(), fields_of_pass.end(), [](const auto& pass) {
            return pass.second.size() == 1 && parse_int(pass.first).has_value();
        });
    }

    [[nodiscard]] std::int64_t pass_number(std::int64_t id,
                                           const std::map<std::int64_t, std::int64_t>& of) const {
        if (plain_ && has_fields_)
            return parse_int(labels_.at(id).pass).value_or(id);
        const auto found = of.find(id);
        return found == of.end() ? id : found->second;
    }

    void rename() {
        const auto pass_of = passes_.number_names();
        const auto row_of = rows_.number_names();
        for (const auto& [id, label] : labels_) {
            const std::int64_t number = pass_number(id, pass_of);
            field_.field_of[number] = label.field;
            if (!plain_)
                field_.pass_names[number] = fmt::format("{} of {}", label.pass, label.field);
        }
        if (!has_fields_)
            field_.pass_names = passes_.by_number();
        field_.row_names = rows_.by_number();
        if (pass_of.empty() && row_of.empty())
            return;
        std::map<LineKey, Line> lines;
        for (auto& [key, line] : field_.lines) {
            const auto row = row_of.find(key.row);
            lines[{pass_number(key.pass, pass_of), row == row_of.end() ? key.row : row->second}] =
                std::move(line);
        }
        field_.lines = std::move(lines);
    }

    const Mapping* mapping_;
    const Answers* answers_;
    Field field_;
    Names passes_;
    Names rows_;
    std::map<std::int64_t, Label> labels_;
    std::size_t tables_ = 0;
    bool has_fields_ = false;
    bool plain_ = false;
    std::string file_;
    Line* last_ = nullptr;
    std::string last_pass_;
    std::string last_row_;
    std::string last_field_;
};

// Rows are compared with each other and passes by where they lie: their number is bounded, the
// drops' is not.
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

Error nothing_read(const Field& field, const std::string& file) {
    return {
        ErrorKind::input, file,
        field.rows_bad == 0
            ? std::string("no drops in it")
            : fmt::format("none of its {} rows can be read; line {}: {}", field.rows_bad,
                          field.bad_samples.front().line, field.bad_samples.front().reason),
        "check the columns against the description of the field table; lat and lon may be swapped "
        "where lat is out of range"};
}

} // namespace

std::string Field::row_name(std::int64_t row) const {
    const auto named = row_names.find(row);
    return named == row_names.end() ? std::to_string(row) : named->second;
}

std::string Field::pass_name(std::int64_t pass) const {
    const auto named = pass_names.find(pass);
    return named == pass_names.end() ? std::to_string(pass) : named->second;
}

std::int64_t Field::lost_drops() const {
    std::int64_t all = 0;
    for (const auto& [key, count] : lost)
        all += count;
    return all;
}

double Field::clock_s(double time_s) const {
    if (!facts.has_dates)
        return time_s;
    return zone ? zone->local_s(time_s)
                : time_s + 60.0 * static_cast<double>(facts.zone_minutes.value_or(0));
}

std::string Field::clock_name() const {
    if (facts.times_local || !facts.has_dates)
        return "the table's clock";
    if (zone)
        return zone->name;
    if (facts.zone_minutes)
        return fixed_zone(*facts.zone_minutes).name;
    return "UTC";
}

std::string Field::date_and_time(double time_s) const {
    constexpr double year_1990 = 6.3e8;
    constexpr double year_2200 = 7.3e9;
    if (!has_time || time_s < year_1990 || time_s > year_2200)
        return {};
    const double shown_s = std::floor(clock_s(time_s));
    std::string text = rfc3339(static_cast<std::int64_t>(shown_s));
    const bool is_utc = !zone && !facts.zone_minutes;
    if (is_utc && !facts.times_local)
        return text;
    text.pop_back();
    return is_utc ? text : text + offset_text(std::llround((shown_s - std::floor(time_s)) / 60.0));
}

void add_bad(Field& field, std::uint64_t line, std::string reason) {
    ++field.rows_bad;
    if (field.bad_samples.size() < bad_samples_kept)
        field.bad_samples.push_back({line, std::move(reason)});
}

Result<Field> read_field(const std::vector<Table>& tables, const Mapping& mapping,
                         const Answers& answers) {
    TablesReader reader(mapping, answers);
    for (const Table& table : tables)
        if (const Status read = reader.read(table, tables.size() > 1); !read)
            return read.error();
    Field field = reader.take();
    const std::string& file = tables.front().file;
    if (const Status extent = check_extent(field, file); !extent)
        return extent.error();
    if (const Status one_sided = check_blanks(field, file, answers); !one_sided)
        return one_sided.error();
    settle(field, tables.size() == 1 ? "The table has" : "The tables have", answers);
    if (const Status sense = check_sense(field, file, answers); !sense)
        return sense.error();
    if (field.drops == 0)
        return nothing_read(field, file);
    return field;
}

std::optional<double> parse_time(std::string_view text, std::int64_t utc_offset_minutes) {
    if (const auto number = parse_double(text))
        return number;
    return parse_rfc3339(text, utc_offset_minutes);
}

} // namespace dropledger::field
