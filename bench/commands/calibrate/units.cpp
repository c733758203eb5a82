#include "bench/commands/calibrate/units.hpp"

#include "bench/book/indexer.hpp"
#include "bench/commands/inputs/settings_lines.hpp"
#include "bench/commands/inputs/books.hpp"
#include "bench/commands/inputs/checked_log.hpp"
#include "bench/commands/inputs/profiles.hpp"
#include "bench/commands/shell/standard.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/io/file_source.hpp"
#include "bench/io/write_aside.hpp"

#include <fmt/format.h>

#include <filesystem>

namespace dropledger::cli {

namespace fs = std::filesystem;

namespace {

constexpr std::size_t most_settings_bytes = 1'000'000;

Status change_settings(const std::string& file,
                       const std::function<Result<std::string>(std::string)>& change) {
    auto text = files::whole_file(file, most_settings_bytes);
    if (!text)
        return text.error();
    const auto changed = change(*std::move(text));
    if (!changed)
        return changed.error();
    return files::write_file_aside(file, *changed);
}

Result<std::vector<UnitOnLog>> units_of_log(const std::string& file) {
    const auto reading = read_checked(file);
    if (!reading)
        return reading.error();
    std::vector<UnitOnLog> units;
    for (const auto& [channel, settings] : reading->header.channels) {
        const std::string* const unit = reading->header.find(channel, "unit");
        units.push_back({channel, unit == nullptr ? fmt::format("channel {}", channel) : *unit});
    }
    return units;
}

Result<std::vector<UnitOnLog>> units_of_logs(const std::vector<std::string>& files) {
    auto first = units_of_log(files.front());
    if (!first)
        return first;
    for (const std::string& file : files) {
        const auto units = units_of_log(file);
        if (!units)
            return units;
        for (const UnitOnLog& one : *units)
            for (const UnitOnLog& known : *first)
                if (one.channel == known.channel && one.unit != known.unit)
                    return usage("LOG",
                                 fmt::format("channel {} is {} in {} and {} in {}", one.channel,
                                             known.unit, files.front(), one.unit, file),
                                 "name logs of one machine, or say one unit's --channel");
    }
    return first;
}

} // namespace

Result<std::vector<UnitOnLog>> asked_units(const std::vector<std::string>& logs,
                                           std::optional<std::int64_t> channel) {
    if (logs.empty())
        return std::vector<UnitOnLog>{};
    auto units = units_of_logs(logs);
    if (units && channel)
        std::erase_if(*units, [&](const UnitOnLog& one) { return one.channel != *channel; });
    return units;
}

void add_for_all_options(Command& command, ForAllUnits& options) {
    command.option("--book", options.book, "bench book in which the written records are entered")
        .option("--settings", options.settings,
                "settings file of the run into which the results are put");
}

Result<WriteOptions> record_of_unit(const WriteOptions& options, const UnitOnLog& unit) {
    if (!options.write)
        return options;
    if (!fs::is_directory(*options.write))
        return usage("--write", fmt::format("{} is no folder", *options.write),
                     "the log has several units, and each gets a record of its own: name a folder "
                     "that is there, or one unit with --channel");
    if (!options.id)
        return usage("--id", "a calibration needs a name of its own",
                     "say --id, such as CAL-2026: the units' serial numbers follow it");
    WriteOptions own = options;
    own.id = fmt::format("{}-{}", *options.id, unit.unit);
    std::string name = *own.id;
    for (char& c : name)
        if (c == '/' || c == ' ')
            c = '_';
    own.write = (fs::path(*options.write) / (name + ".toml")).string();
    return own;
}

Status check_for_all(const ForAllUnits& options, const WriteOptions& record) {
    for (const auto& [name, asked] :
         {std::pair{"--book", &options.book}, std::pair{"--settings", &options.settings}})
        if (*asked && !record.write)
            return usage(name, "no record is written", "say --write too");
    if (options.settings && !fs::is_regular_file(*options.settings))
        return usage("--settings", fmt::format("{}: there is no such file", *options.settings),
                     "name the settings file of the run");
    return Done{};
}

Status enter_in_book(const ForAllUnits& options, const std::vector<std::string>& records) {
    if (!options.book)
        return Done{};
    auto book = open_book(*options.book, true);
    if (!book)
        return book.error();
    const auto added = book::add(*book, records, profile_chooser(std::nullopt));
    if (!added)
        return added.error();
    tell("{} records entered in the book {}\n", records.size(), *options.book);
    return Done{};
}

Status set_leads(const ForAllUnits& options, const std::vector<LeadToSet>& leads) {
    if (!options.settings || leads.empty())
        return Done{};
    const Status set =
        change_settings(*options.settings, [&](std::string text) -> Result<std::string> {
            for (const LeadToSet& one : leads) {
                auto changed = with_channel_value(text, {one.unit.channel, one.unit.unit},
                                                  "lead_us", std::to_string(one.lead_us));
                if (!changed)
                    return usage("--settings",
                                 fmt::format("{} has no [[channel]] for {}", *options.settings,
                                             one.unit.unit),
                                 "name the settings file of this machine");
                text = *std::move(changed);
            }
            return text;
        });
    if (set)
        tell("{} leads written into {}: set them in the bench too, then run again\n", leads.size(),
             *options.settings);
    return set;
}

Status set_calibrations(const ForAllUnits& options, const std::vector<std::string>& records) {
    if (!options.settings)
        return Done{};
    return change_settings(*options.settings, [&](const std::string& text) -> Result<std::string> {
        std::string list;
        for (const std::string& record : records)
            list += (list.empty() ? "" : ",") + record;
        auto changed = with_run_value(text, "calibration", fmt::format("\"{}\"", list));
        if (!changed)
            return usage("--settings", fmt::format("{} has no [run]", *options.settings),
                         "name the settings file of the run");
        return *std::move(changed);
    });
}

} // namespace dropledger::cli
