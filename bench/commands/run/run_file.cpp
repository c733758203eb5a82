#include "bench/commands/run/run_channels.hpp"
#include "bench/commands/run/run_fields.hpp"

#include "analysis/base/nesting.hpp"
#include "bench/io/file_source.hpp"

#include <fmt/format.h>
#include <toml++/toml.h>

#include <algorithm>
#include <string_view>

namespace dropledger::cli {

namespace {

Error wrong(const std::string& file, const toml::node& node, std::string what, std::string remedy) {
    return {ErrorKind::input, fmt::format("{}:{}", file, node.source().begin.line), std::move(what),
            std::move(remedy)};
}

bool take(const toml::node& node, std::optional<std::string>& target) {
    const auto value = node.value_exact<std::string>();
    if (value && !target)
        target = value;
    return value.has_value();
}
bool take(const toml::node& node, std::optional<std::int64_t>& target) {
    const auto value = node.value_exact<std::int64_t>();
    if (value && !target)
        target = value;
    return value.has_value();
}
bool take(const toml::node& node, std::optional<double>& target) {
    const auto value = node.value<double>(); // a whole number too
    if (value && !target)
        target = value;
    return node.is_number() && value.has_value();
}

const RunField* field_of(std::string_view key) {
    const auto fields = run_fields();
    const auto found = std::find_if(fields.begin(), fields.end(),
                                    [key](const RunField& field) { return field.name == key; });
    return found == fields.end() ? nullptr : &*found;
}

std::optional<std::string> plain_text(const toml::node& node) {
    if (auto text = node.value_exact<std::string>())
        return text;
    if (const auto number = node.value_exact<std::int64_t>())
        return std::to_string(*number);
    return std::nullopt;
}

Status take_run(const std::string& file, const toml::table& table, RunOptions& options) {
    for (const auto& [key, node] : table) {
        const RunField* const field = field_of(key.str());
        if (field == nullptr)
            return wrong(file, node, fmt::format("[run] knows no key `{}`", key.str()),
                         "see dropledger run --help");
        const bool taken = std::visit(
            [&, &value = node](const auto member) { return take(value, options.*member); },
            field->target);
        if (!taken)
            return wrong(file, node, fmt::format("`{}` has a value of the wrong kind", key.str()),
                         "names are \"quoted\", numbers are not");
    }
    return Done{};
}

Status take_channel(const std::string& file, const toml::table& table, int in_order,
                    RunOptions& options) {
    const auto channel_number = table["channel"].value_or<std::int64_t>(in_order);
    if (channel_number < 0 || channel_number > highest_channel)
        return wrong(file, table, fmt::format("`channel` {} is not a channel", channel_number),
                     fmt::format("give a number from 0 to {}", highest_channel));
    const int channel = static_cast<int>(channel_number);
    for (const auto& [key, node] : table) {
        const auto value = plain_text(node);
        if (!value)
            return wrong(file, node,
                         fmt::format("`{}` is neither a name nor a whole number", key.str()), "");
        if (key.str() != "channel")
            options.channel_settings.push_back({channel, std::string{key.str()}, *value});
    }
    return Done{};
}

Status take_channels(const std::string& file, const toml::node& node, RunOptions& options) {
    const toml::array* const tables = node.as_array();
    if (tables == nullptr)
        return wrong(file, node, "`channel` is not a list of tables",
                     "write [[channel]] above each channel");
    int in_order = 0;
    for (const toml::node& entry : *tables) {
        const toml::table* const table = entry.as_table();
        if (table == nullptr)
            return wrong(file, entry, "not a table", "write [[channel]] above each channel");
        if (const Status taken = take_channel(file, *table, in_order++, options); !taken)
            return taken.error();
    }
    return Done{};
}

Status take_file(const std::string& file, const toml::table& table, RunOptions& options) {
    for (const auto& [key, node] : table) {
        Status taken = Done{};
        if (key.str() == "run" && node.is_table())
            taken = take_run(file, *node.as_table(), options);
        else if (key.str() == "channel")
            taken = take_channels(file, node, options);
        else
            taken = wrong(file, node, fmt::format("unknown part `{}`", key.str()),
                          "a settings file has [run] and [[channel]]");
        if (!taken)
            return taken.error();
    }
    return Done{};
}

} // namespace

Status add_settings_file(const std::string& path, RunOptions& options) {
    const auto text = files::whole_file(path, most_toml_bytes);
    if (!text)
        return text.error();
    if (const Status shallow = toml_is_shallow(*text, path); !shallow)
        return shallow.error();
    toml::table table;
    try {
        table = toml::parse(*text, path);
    } catch (const toml::parse_error& problem) {
        return Error{ErrorKind::input, fmt::format("{}:{}", path, problem.source().begin.line),
                     std::string{problem.description()}, "correct the file; it is TOML"};
    }
    return take_file(path, table, options);
}

} // namespace dropledger::cli
