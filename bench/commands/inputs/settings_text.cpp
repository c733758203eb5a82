#include "bench/commands/inputs/settings_text.hpp"

#include <fmt/format.h>

namespace dropledger::cli {

namespace {

constexpr int comment_column = 34;

std::string line_of(const SettingsEntry& entry) {
    if (entry.value.empty())
        return fmt::format("# {}: {}\n", entry.key, entry.comment);
    const std::string setting = fmt::format("{} = {}", entry.key, entry.value);
    if (entry.comment.empty())
        return setting + '\n';
    return fmt::format("{:<{}} # {}\n", setting, comment_column, entry.comment);
}

std::string table_of(const std::string& name, const std::vector<SettingsEntry>& entries) {
    std::string text = fmt::format("\n{}\n", name);
    for (const SettingsEntry& entry : entries)
        text += line_of(entry);
    return text;
}

} // namespace

std::string toml_text(std::string_view text) {
    std::string out = "\"";
    for (const char c : text) {
        const auto code = static_cast<unsigned char>(c);
        if (c == '"' || c == '\\')
            out += '\\';
        if (code < 0x20 || code == 0x7F)
            out += fmt::format("\\u{:04X}", code);
        else
            out += c;
    }
    return out + '"';
}

std::string to_toml(const SettingsText& settings) {
    std::string text;
    for (const std::string& line : settings.head)
        text += line.empty() ? "#\n" : fmt::format("# {}\n", line);
    text += table_of("[run]", settings.run);
    for (const auto& channel : settings.channels)
        text += table_of("[[channel]]", channel);
    return text;
}

} // namespace dropledger::cli
