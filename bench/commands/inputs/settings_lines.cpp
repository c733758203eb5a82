#include "bench/commands/inputs/settings_lines.hpp"

#include "analysis/base/text.hpp"

#include <fmt/format.h>

#include <vector>

namespace dropledger::cli {

namespace {

using Lines = std::vector<std::string>;

Lines lines_of(std::string_view text) {
    Lines lines;
    while (!text.empty()) {
        const std::size_t end = std::min(text.find('\n'), text.size());
        lines.emplace_back(text.substr(0, end));
        text.remove_prefix(std::min(end + 1, text.size()));
    }
    return lines;
}

std::string text_of(const Lines& lines) {
    std::string text;
    for (const std::string& line : lines)
        text += line + "\n";
    return text;
}

// "key = value # remark": the value's text, or nothing where the line is of another key.
std::optional<std::string> value_in(std::string_view line, std::string_view key) {
    const std::size_t equals = line.find('=');
    if (equals == std::string_view::npos || trim(line.substr(0, equals)) != key)
        return std::nullopt;
    std::string_view value = trim(line.substr(equals + 1));
    if (value.starts_with('"'))
        return std::string(value.substr(1, value.find('"', 1) - 1));
    return std::string(trim(value.substr(0, value.find('#'))));
}

struct Table {
    std::size_t first = 0; // the line behind its head
    std::size_t end = 0;
};

std::vector<Table> tables_named(const Lines& lines, std::string_view head) {
    std::vector<Table> tables;
    bool inside = false;
    for (std::size_t i = 0; i < lines.size(); ++i) {
        const std::string_view line = trim(lines[i]);
        if (!line.starts_with('['))
            continue;
        if (inside)
            tables.back().end = i;
        inside = line.substr(0, line.find('#')).starts_with(head);
        if (inside)
            tables.push_back({i + 1, lines.size()});
    }
    return tables;
}

std::optional<std::string> value_of(const Lines& lines, const Table& table, std::string_view key) {
    for (std::size_t i = table.first; i < table.end; ++i)
        if (auto value = value_in(lines[i], key))
            return value;
    return std::nullopt;
}

std::string with_value(Lines lines, const Table& table, std::string_view key,
                       std::string_view value) {
    const std::string line = fmt::format("{} = {}", key, value);
    for (std::size_t i = table.first; i < table.end; ++i)
        if (value_in(lines[i], key)) {
            lines[i] = line;
            return text_of(lines);
        }
    lines.insert(lines.begin() + static_cast<std::ptrdiff_t>(table.first), line);
    return text_of(lines);
}

bool is_of(const Lines& lines, const Table& table, std::size_t in_order,
           const ChannelOfFile& channel) {
    const auto unit = value_of(lines, table, "unit");
    if (unit)
        return *unit == channel.unit;
    const auto number = value_of(lines, table, "channel");
    return number ? parse_int(*number) == channel.number
                  : in_order == static_cast<std::size_t>(channel.number);
}

} // namespace

std::optional<std::string> with_channel_value(std::string_view text, const ChannelOfFile& channel,
                                              std::string_view key, std::string_view value) {
    const Lines lines = lines_of(text);
    const std::vector<Table> tables = tables_named(lines, "[[channel]]");
    for (std::size_t i = 0; i < tables.size(); ++i)
        if (is_of(lines, tables[i], i, channel))
            return with_value(lines, tables[i], key, value);
    return std::nullopt;
}

std::optional<std::string> with_run_value(std::string_view text, std::string_view key,
                                          std::string_view value) {
    const Lines lines = lines_of(text);
    const std::vector<Table> tables = tables_named(lines, "[run]");
    if (tables.empty())
        return std::nullopt;
    return with_value(lines, tables.front(), key, value);
}

} // namespace dropledger::cli
