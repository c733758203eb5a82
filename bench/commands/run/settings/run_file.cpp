#include "analysis/base/readers/nesting.hpp"
#include "analysis/base/readers/toml_table.hpp"
#include "bench/commands/run/settings/run_channels.hpp"
#include "bench/commands/run/settings/run_fields.hpp"
#include "bench/commands/run/settings/run_options.hpp"
#include "bench/io/file_source.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <string_view>

namespace dropledger::cli {

namespace {

bool take(const TomlTable& table, std::string_view key, std::optional<std::string>& target) {
    const auto value = table.as_text(key);
    if (value && !target)
        target = value;
    return value.has_value();
}
bool take(const TomlTable& table, std::string_view key, std::optional<std::int64_t>& target) {
    const auto value = table.as_whole(key);
    if (value && !target)
        target = value;
    return value.has_value();
}
bool take(const TomlTable& table, std::string_view key, std::optional<double>& target) {
    const auto value = table.as_number(key); // a whole number too
    if (value && !target)
        target = value;
    return value.has_value();
}

const RunField* field_of(std::string_view key) {
    const auto fields = run_fields();
    const auto found = std::find_if(fields.begin(), fields.end(),
                                    [key](const RunField& field) { return field.name == key; });
    return found == fields.end() ? nullptr : &*found;
}

std::optional<std::string> plain_text(const TomlTable& table, std::string_view key) {
    if (auto text = table.as_text(key))
        return text;
    if (const auto number = table.as_whole(key))
        return std::to_string(*number);
    if (const auto number = table.as_number(key))
        return fmt::format("{}", *number);
    return std::nullopt;
}

void take_run(TomlTable table, RunOptions& options) {
    for (const std::string& key : table.keys()) {
        const RunField* const field = field_of(key);
        if (field == nullptr) {
            table.fail(key, fmt::format("[run] knows no key `{}`", key),
                       "see dropledger run --help");
            continue;
        }
        const bool taken = std::visit(
            [&](const auto member) { return take(table, key, options.*member); }, field->target);
        if (!taken)
            table.fail(key, fmt::format("`{}` has a value of the wrong kind", key),
                       "names are \"quoted\", numbers are not");
    }
}

void take_channel(TomlTable table, std::int64_t in_order, RunOptions& options) {
    const std::int64_t channel = table.as_whole("channel").value_or(in_order);
    if (channel < 0 || channel > highest_channel)
        return table.fail("channel", fmt::format("`channel` {} is not a channel", channel),
                          fmt::format("give a number from 0 to {}", highest_channel));
    for (const std::string& key : table.keys()) {
        const auto value = plain_text(table, key);
        if (!value)
            table.fail(key, fmt::format("`{}` is neither a name nor a number", key), "");
        else if (key != "channel")
            options.channel_settings.push_back({static_cast<int>(channel), key, *value});
    }
}

void take_file(TomlTable root, RunOptions& options) {
    for (const std::string& key : root.keys()) {
        if (key == "run" && root.has_table(key)) {
            take_run(*root.table(key), options);
        } else if (key == "channel") {
            std::int64_t in_order = 0;
            for (const TomlTable& one : root.tables(key))
                take_channel(one, in_order++, options);
        } else {
            root.fail(key, fmt::format("unknown part `{}`", key),
                      "a settings file has [run] and [[channel]]");
        }
    }
}

} // namespace

Status add_settings_file(const std::string& path, RunOptions& options) {
    const auto text = files::whole_file(path, most_toml_bytes);
    return text ? add_settings(*text, path, options) : text.error();
}

Status add_settings(std::string_view text, const std::string& path, RunOptions& options) {
    auto document = TomlDocument::parse(text, path);
    if (!document)
        return document.error();
    take_file(document->root(), options);
    if (document->problem())
        return *document->problem();
    return Done{};
}

} // namespace dropledger::cli
