// A machine's page: which of its units run, until when, and what its settings leave open.
#include "bench/station/mechanic/live_part.hpp"
#include "bench/station/mechanic/ready.hpp"

#include "analysis/base/readers/nesting.hpp"
#include "analysis/droplog/settings.hpp"
#include "analysis/report/html/tables.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "bench/commands/run/settings/run_channels.hpp"
#include "bench/io/file_source.hpp"
#include "bench/station/pages/fields.hpp"
#include "bench/station/pages/files.hpp"
#include "bench/station/pages/page.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <filesystem>

namespace dropledger::station {

using report::pictures::element;

namespace {

std::vector<Option> units_of(const cli::ChannelPlan& plan) {
    std::vector<Option> units;
    for (int channel = 0; channel <= cli::highest_channel; ++channel) {
        if (((plan.mask >> static_cast<unsigned>(channel)) & 1U) == 0)
            continue;
        const cli::ScreenUnit unit{.channel = channel,
                                   .unit = recorder::setting_of(plan.settings, channel, "unit"),
                                   .row = recorder::setting_of(plan.settings, channel, "row"),
                                   .tally = {}};
        units.push_back({fmt::to_string(channel), cli::name_of(unit)});
    }
    return units;
}

// `said`: what was typed before, where anything was.
std::string run_fields(const cli::RunOptions& options, std::vector<Option> units, bool can_sign,
                       const Fields& said) {
    const bool line = droplog::mode_of(options.mode.value_or("")) == droplog::Mode::line;
    const auto ticked = said.values("channel");
    if (said.value("drops"))
        for (Option& unit : units)
            unit.ticked = std::find(ticked.begin(), ticked.end(), unit.value) != ticked.end();
    std::string fields =
        tick_field({.name = "channel", .label = "Which units run?", .options = std::move(units)});
    if (!line)
        fields += radio_field({.name = "until",
                               .label = "Until when?",
                               .value = said.value("until").value_or("drops"),
                               .options = {{"drops", "until this many drops"},
                                           {"decided", "until each unit is decided"}}});
    fields += text_field({.name = "drops",
                          .label = line ? "Seeds a unit" : "Drops a unit",
                          .help = line ? ""
                                       : "The most, where a run stops by itself once misses and "
                                         "multiples are decided.",
                          .value = said.value("drops").value_or(
                              options.drops ? fmt::to_string(*options.drops) : "500")});
    if (can_sign)
        fields += radio_field(
            {.name = "sign",
             .label = "Does it count for a batch?",
             .value = said.value("sign").value_or(""),
             .options = {{"", "no"}, {"yes", fmt::format("yes: sign it with {}", bench_key)}}});
    return fields;
}

// What its settings file marks as unsure.
std::string unsure_part(const std::string& file) {
    const auto text = files::whole_file(file, most_toml_bytes);
    const auto unsure = text ? cli::unsure_in(*text) : std::vector<std::string>{};
    return unsure.empty()
               ? std::string{}
               : element("div", "class=\"word\"",
                         text_line("Its settings leave open:") + report::html::bullet_list(unsure));
}

} // namespace

Result<cli::RunOptions> machine_options(const std::string& folder, const std::string& name) {
    const auto file = file_in(folder, name, ".toml");
    if (!file)
        return file.error();
    cli::RunOptions options;
    if (const Status added = cli::add_settings_file(*file, options); !added) {
        Error error = added.error(); // by its name: the folder is the station's
        if (error.where.starts_with(*file))
            error.where.replace(0, file->size(), name);
        return error;
    }
    return options;
}

std::vector<std::string> machines_in(const std::string& folder) {
    std::vector<std::string> names;
    for (const NamedFile& file : files_in(folder, ".toml")) {
        const auto options = machine_options(folder, file.name);
        if (options && (options->spacing_mm || options->rate_per_m))
            names.push_back(file.name);
    }
    return names;
}

std::vector<Error> unreadable_machines(const std::string& folder) {
    std::vector<Error> errors;
    for (const NamedFile& file : files_in(folder, ".toml")) {
        const auto options = machine_options(folder, file.name);
        const auto text = files::whole_file(folder + "/" + file.name, most_toml_bytes);
        const bool is_meant = text && ("\n" + *text).find("\n[run]") != std::string::npos;
        if (!options && is_meant)
            errors.push_back(options.error());
    }
    return errors;
}

bool machine_has(const std::string& folder, const std::string& machine, const std::string& unit) {
    const auto options = machine_options(folder, machine);
    if (!options)
        return false;
    const auto plan = cli::channels_of(*options);
    return plan && std::any_of(plan->settings.begin(), plan->settings.end(), [&](const auto& one) {
               return one.key == "unit" && one.value == unit;
           });
}

// What a person confirms: of two pages that are open, each says which run it is of.
std::string Mechanic::what_starts(const Ready& ready) const {
    const cli::RunOptions& options = ready.options;
    std::string rows;
    const auto row = [&](const char* name, const std::string& text) {
        rows += element("dt", "", name) + element("dd", "", report::pictures::escaped(text));
    };
    row(options.resume ? "log" : "machine", ready.what);
    if (const auto plan = options.resume ? std::nullopt : std::optional(cli::channels_of(options));
        plan && *plan) {
        std::vector<std::string> units;
        for (const Option& unit : units_of(**plan))
            units.push_back(unit.words);
        row("units", fmt::format("{}", fmt::join(units, "; ")));
    }
    const bool line = droplog::mode_of(options.mode.value_or("")) == droplog::Mode::line;
    const char* const things = line ? "seeds" : "drops";
    if (options.drops && !options.resume)
        row(things,
            options.until_decided
                ? fmt::format("until each unit is decided, {} a unit at most", *options.drops)
                : fmt::format("{} a unit", *options.drops));
    if (options.speed_mps)
        row("speed", fmt::format("{} m/s", *options.speed_mps));
    row("bench", options.port == virtual_.port() ? std::string("the virtual one")
                                                 : options.port.value_or(""));
    return element("dl", "class=\"context\"", rows);
}

Response Mechanic::machine_page(const Request& request, const std::string& trouble) {
    const std::string& name = request.parts.front();
    const auto options = machine_options(place_.folder, name);
    if (!options)
        return bench_page(said_wrong(options.error()));
    const auto plan = cli::channels_of(*options);
    if (!plan)
        return bench_page(said_wrong(plan.error()));
    auto units = units_of(*plan);
    if (const auto only = request.query.values("unit"); !only.empty())
        std::erase_if(units, [&](const Option& unit) {
            return std::find(only.begin(), only.end(),
                             recorder::setting_of(plan->settings, std::stoi(unit.value), "unit")) ==
                   only.end();
        });
    const bool can_sign = std::filesystem::exists(place_.folder + "/" + bench_key);
    std::string body =
        heading1("Run " + name) + trouble +
        form({.action = "/machine/" + encoded(name),
              .fields = run_fields(*options, std::move(units), can_sign, request.form),
              .button = "On to the cautions"});
    if (name != virtual_machine || port() != virtual_.port())
        body += heading2("Is it set up right?") + unsure_part(place_.folder + "/" + name) +
                text_line(
                    "Each unit by itself makes a few drops: which gates see seed, whose plugs are "
                    "swapped.") +
                element("div", "class=\"acts\"",
                        act("/setup/try/" + encoded(name), "Try it on the bench"));
    return {.body = page({.title = name, .here = "/bench", .body = body, .bar = work_.bar()})};
}

} // namespace dropledger::station
