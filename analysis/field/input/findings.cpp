#include "analysis/field/input/findings.hpp"

#include "analysis/base/readers/csv_reader.hpp"
#include "analysis/base/text.hpp"

#include <fmt/format.h>

#include <array>

namespace dropledger::field {

namespace {

constexpr std::array<std::string_view, 5> columns{"pass", "row", "first_drop", "last_drop",
                                                  "found"};
using Places = std::array<std::size_t, columns.size()>;

Error wrong(const std::string& file, std::uint64_t line, std::string what) {
    return {ErrorKind::input, fmt::format("{}:{}", file, line), std::move(what),
            "a table of what was found has the columns pass, row, first_drop, last_drop, found; "
            "found is none, seed, or a count"};
}

Result<Places> places_of(const CsvRecord& header, const std::string& file) {
    Places places{};
    for (std::size_t c = 0; c < columns.size(); ++c) {
        places.at(c) = header.fields.size();
        for (std::size_t i = 0; i < header.fields.size(); ++i)
            if (trim(header.fields[i]) == columns.at(c))
                places.at(c) = i;
        if (places.at(c) == header.fields.size())
            return wrong(file, header.line, fmt::format("no column {}", columns.at(c)));
    }
    return places;
}

std::optional<std::int64_t> number_of(std::string_view text,
                                      const std::map<std::int64_t, std::string>& names) {
    for (const auto& [number, name] : names)
        if (name == text)
            return number;
    return parse_int(text);
}

bool take_found(std::string_view written, Finding& finding) {
    const std::string text = lower(written);
    if (text == "none" || text == "no" || text == "0")
        return true;
    if (text == "seed" || text == "seeds" || text == "yes") {
        finding.some = true;
        return true;
    }
    const auto count = parse_int(text);
    finding.seeds = count.value_or(0);
    return count && *count > 0;
}

Result<Finding> finding_of(const CsvRecord& record, const Places& places, const std::string& file,
                           const Field& field) {
    const auto text = [&](std::size_t c) { return trim(record.fields.at(places.at(c))); };
    const auto pass = number_of(text(0), field.pass_names);
    const auto row = number_of(text(1), field.row_names);
    const auto first = parse_int(text(2));
    const auto last = parse_int(text(3));
    if (!pass || !row || !first || !last || *last < *first)
        return wrong(file, record.line, "pass, row or drops can't be read");
    if (!field.lines.contains({*pass, *row}))
        return wrong(file, record.line,
                     fmt::format("the field has no pass {} of row {}", text(0), text(1)));
    Finding finding{*pass, *row, *first, *last, 0, false};
    if (!take_found(text(4), finding))
        return wrong(file, record.line,
                     fmt::format("found '{}' is neither none, seed nor a count", text(4)));
    return finding;
}

} // namespace

bool is_finding(std::string_view text) {
    Finding finding;
    return take_found(trim(text), finding);
}

Result<Findings> read_findings(ByteSource& source, const std::string& file, const Field& field) {
    CsvReader records(source);
    CsvRecord record;
    const auto header = records.next(record);
    if (!header)
        return header.error();
    if (!*header)
        return wrong(file, 1, "no header line");
    const auto places = places_of(record, file);
    if (!places)
        return places.error();
    const std::size_t width = record.fields.size();
    Findings findings;
    for (;;) {
        const auto more = records.next(record);
        if (!more)
            return more.error();
        if (!*more)
            return findings;
        if (record.damaged || record.fields.size() != width)
            return wrong(file, record.line, "has not as many fields as the header");
        if (trim(record.fields.at(places->back())).empty())
            continue;
        const auto finding = finding_of(record, *places, file, field);
        if (!finding)
            return finding.error();
        findings.push_back(*finding);
    }
}

} // namespace dropledger::field
