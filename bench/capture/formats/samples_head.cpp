#include "bench/capture/formats/samples_head.hpp"

#include "analysis/base/text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <string_view>
#include <utility>

namespace dropledger::capture {

namespace {

constexpr std::size_t head_room = 65536;
constexpr std::size_t most_lines = 200;

std::string_view unquoted(std::string_view text) {
    text = trim(text);
    if (text.size() >= 2 && text.front() == '"' && text.back() == '"')
        text = text.substr(1, text.size() - 2);
    return trim(text);
}

std::vector<std::string> names_of(std::string_view line, char separator) {
    std::vector<std::string> names;
    for (const std::string_view field : split(line, separator))
        names.emplace_back(unquoted(field));
    return names;
}

std::optional<std::size_t> place_of(const std::vector<std::string>& names, std::string_view name) {
    const auto found = std::find(names.begin(), names.end(), name);
    return found == names.end() ? std::nullopt
                                : std::optional(static_cast<std::size_t>(found - names.begin()));
}

// "Time [s]", "time_ms", "t (us)", "Timestamp".
std::optional<double> time_unit_ps(std::string_view name) {
    constexpr std::array<std::pair<std::string_view, double>, 4> units{
        {{"s", 1e12}, {"ms", 1e9}, {"us", 1e6}, {"ns", 1e3}}};
    const std::string title = lower(name);
    const std::size_t word_end = title.find_first_of(" _[(");
    const std::string word = title.substr(0, word_end);
    if (word != "time" && word != "t" && word != "timestamp")
        return std::nullopt;
    std::string unit = word_end == std::string::npos ? "s" : title.substr(word_end);
    std::erase_if(unit, [](unsigned char c) { return std::isalpha(c) == 0; });
    for (const auto& [known, ps] : units)
        if (unit == known)
            return ps;
    return std::nullopt;
}

void find_time(SamplesHead& head, const std::vector<std::string>& names) {
    for (std::size_t column = 0; column < names.size() && !head.time_column; ++column)
        if (const auto ps = time_unit_ps(names[column])) {
            head.time_column = column;
            head.ps_per_unit = *ps;
        }
}

bool find_wires(SamplesHead& head, const std::vector<std::string>& names,
                std::span<const std::string> wires) {
    for (const std::string& wire : wires) {
        const auto column = place_of(names, wire);
        if (!column)
            return false;
        head.wire_columns.push_back(*column);
    }
    return true;
}

std::optional<SamplesHead> head_in(std::string_view line, char separator,
                                   std::span<const std::string> wires) {
    const std::vector<std::string> names = names_of(line, separator);
    SamplesHead head;
    head.separator = separator;
    head.columns = names.size();
    find_time(head, names);
    if (find_wires(head, names, wires))
        return head;
    head.wire_columns.clear();
    const auto signal = place_of(names, "signal");
    const auto level = place_of(names, "level");
    if (!signal || !level || !head.time_column)
        return std::nullopt;
    head.signal_column = *signal;
    head.level_column = *level;
    return head;
}

Result<std::string> beginning(ByteSource& source) {
    std::string text(head_room, '\0');
    std::size_t size = 0;
    while (size < head_room) {
        const auto read = source.read(std::span(text).subspan(size));
        if (!read)
            return read.error();
        if (*read == 0)
            break;
        size += *read;
    }
    text.resize(size);
    return text;
}

Error no_head(const std::string& where, std::span<const std::string> wires,
              std::string_view widest) {
    return input_error(
        where,
        fmt::format("no line near its beginning names all wired signals: {}",
                    fmt::join(wires, ", ")),
        widest.empty()
            ? std::string{"it is empty"}
            : fmt::format("the line with most columns is `{:.200}`: name the signals as it "
                          "does, or export with column names",
                          widest));
}

} // namespace

Result<SamplesHead> find_head(ByteSource& source, const std::string& where,
                              std::span<const std::string> wires) {
    const auto text = beginning(source);
    if (!text)
        return text.error();
    std::string_view widest;
    std::ptrdiff_t most = -1;
    std::uint64_t number = 0;
    for (std::string_view line : split(*text, '\n')) {
        if (++number > most_lines)
            break;
        if (number == 1 && line.starts_with("\xEF\xBB\xBF"))
            line.remove_prefix(3);
        line = trim(line);
        for (const char separator : {',', ';', '\t'}) {
            if (auto head = head_in(line, separator, wires)) {
                head->line = number;
                return *head;
            }
            const auto columns = std::count(line.begin(), line.end(), separator);
            if (columns > most) {
                most = columns;
                widest = line;
            }
        }
    }
    return no_head(where, wires, widest);
}

} // namespace dropledger::capture
