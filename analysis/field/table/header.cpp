#include "analysis/field/table/header.hpp"

#include "analysis/base/readers/csv_reader.hpp"
#include "analysis/base/readers/csv_table.hpp"
#include "analysis/base/text.hpp"
#include "analysis/field/table/names.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::field {

namespace {

constexpr std::size_t most_titles = 60;
constexpr std::array needed{Column::pass, Column::row, Column::drop, Column::target, Column::seen};

std::string_view bare(std::string_view name) {
    name = trim(name);
    if (name.size() >= 2 && name.front() == '"' && name.back() == '"')
        name = name.substr(1, name.size() - 2);
    return trim(name);
}

// As the rows below are cut: a name in quotes may hold the separator, and quotes.
std::vector<std::string> names_in(std::string_view line, char separator) {
    StringSource source{std::string(line)};
    CsvReader reader(source, CsvReader::Comments::none, separator);
    CsvRecord record;
    std::vector<std::string> names;
    if (const auto any = reader.next(record); !any || !*any)
        return names;
    for (const std::string_view name : record.fields)
        names.emplace_back(bare(name));
    return names;
}

struct Candidate {
    Header header;
    std::size_t found = 0;         // of our columns
    std::optional<Column> missing; // the first one needed
    std::optional<Column> twice;
    std::size_t begins = 0; // bytes from the head's beginning
    std::vector<std::string> fields;

    [[nodiscard]] bool has_places() const {
        return (header.has(Column::lat) && header.has(Column::lon)) ||
               (header.has(Column::east_m) && header.has(Column::north_m));
    }
    [[nodiscard]] bool complete() const { return !missing && !twice && has_places(); }
};

void take_name(std::string_view name, std::size_t place, const Mapping& mapping,
               Candidate& candidate) {
    for (std::size_t c = 0; c < column_count; ++c) {
        if (!same_name(name, mapping.names.at(c)))
            continue;
        std::size_t& at = candidate.header.at.at(c);
        if (at != Header::absent)
            candidate.twice = static_cast<Column>(c);
        candidate.found += at == Header::absent ? 1U : 0U;
        at = place;
    }
}

Candidate candidate_of(std::string_view line, char separator, const Mapping& mapping) {
    Candidate candidate;
    candidate.header.at.fill(Header::absent);
    candidate.header.separator = separator;
    candidate.fields = names_in(line, separator);
    for (std::size_t i = 0; i < candidate.fields.size(); ++i) {
        if (!candidate.fields[i].empty())
            candidate.header.width = i + 1;
        take_name(candidate.fields[i], i, mapping, candidate);
    }
    candidate.fields.resize(candidate.header.width);
    for (const Column column : needed)
        if (!candidate.header.has(column) && !candidate.missing)
            candidate.missing = column;
    return candidate;
}

// Names more columns; where neither names any, has more fields.
bool is_better(const Candidate& one, const Candidate& than) {
    return one.found > than.found ||
           (one.found == than.found && than.found == 0 && one.fields.size() > than.fields.size());
}

std::vector<char> separators_of(const Mapping& mapping) {
    if (mapping.separator)
        return {*mapping.separator};
    return {',', ';', '\t', '|'};
}

// The first line that names all; else the one that names most.
std::optional<Candidate> best_line(std::string_view head, const Mapping& mapping) {
    const std::vector<char> separators = separators_of(mapping);
    std::optional<Candidate> best;
    std::size_t at = 0;
    for (std::uint64_t number = 0; number <= most_titles && at < head.size(); ++number) {
        const std::size_t end = std::min(head.find('\n', at), head.size());
        std::string_view line = head.substr(at, end - at);
        if (line.ends_with('\r'))
            line.remove_suffix(1);
        for (const char separator : separators) {
            Candidate candidate = candidate_of(line, separator, mapping);
            candidate.begins = at;
            candidate.header.titles = number;
            if (candidate.complete())
                return candidate;
            if (!trim(line).empty() && (!best || is_better(candidate, *best)))
                best = std::move(candidate);
        }
        at = end + 1;
    }
    return best;
}

Error bad_header(const std::string& file, const Candidate& line, std::string what) {
    return {ErrorKind::input, fmt::format("{}:{}", file, line.header.titles + 1), std::move(what),
            "the table needs pass, row, drop, target, seen, and lat, lon or east_m, north_m; name "
            "other columns in a mapping file"};
}

} // namespace

Result<Header> find_header(DecodedSource& source, const std::string& file, const Mapping& mapping) {
    const auto head = source.head();
    if (!head)
        return head.error();
    const auto line = best_line(*head, mapping);
    if (!line)
        return bad_header(file, {}, "no header line");
    const auto name = [&](Column column) {
        return mapping.names.at(static_cast<std::size_t>(column));
    };
    if (line->twice)
        return bad_header(file, *line, fmt::format("two columns are named {}", name(*line->twice)));
    if (line->missing)
        return bad_header(file, *line,
                          fmt::format("no column {}; {}", name(*line->missing),
                                      columns_found({line->fields.begin(), line->fields.end()})));
    if (!line->has_places())
        return bad_header(file, *line,
                          fmt::format("no columns lat and lon, nor east_m and north_m; {}",
                                      columns_found({line->fields.begin(), line->fields.end()})));
    source.skip(line->begins);
    return line->header;
}

} // namespace dropledger::field
