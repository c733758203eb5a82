#include "bench/commands/setup/machine.hpp"

#include "analysis/base/text.hpp"
#include "bench/commands/inputs/serials.hpp"
#include "bench/commands/run/settings/run_fields.hpp"
#include "bench/commands/shell/dates.hpp"
#include "bench/commands/shell/numbers.hpp"
#include "bench/commands/shell/usage.hpp"
#include "calibration/flight/flight.hpp"
#include "calibration/flight/terminal_speed.hpp"

#include <fmt/format.h>

#include <cmath>

namespace dropledger::cli {

namespace {

using calibration::Input;
using Entries = std::vector<SettingsEntry>;

constexpr std::array<const char*, 2> gate_words{"the unit's own drop sensor",
                                                "the bench's reference gate"};

std::string toml(const std::string& value) {
    return toml_text(value);
}
std::string toml(std::int64_t value) {
    return fmt::format("{}", value);
}
std::string toml(double value) {
    return fmt::format("{}", value);
}

// Of a field whose value needs a word.
std::string word_on(const Machine& machine, std::string_view field) {
    if (field == "speed_mps")
        return fmt::format("{:.3g} km/h", machine.run.speed_mps.value_or(0.0) * 3.6);
    if (field == "mode")
        return "single, portion or line";
    if (field == "drops")
        return "a unit; dropledger plan tells how many are enough";
    if (field == "profile")
        return "the limits; each with its reason in the profile";
    return "";
}

Entries run_entries(const Machine& machine) {
    Entries entries;
    for (const RunField& field : run_fields())
        std::visit(
            [&](const auto member) {
                if (const auto& value = machine.run.*member)
                    entries.push_back(
                        {std::string(field.name), toml(*value), word_on(machine, field.name)});
            },
            field.target);
    if (!machine.run.crop)
        entries.push_back({"crop", "", "UNSURE: not stated; fall times hold for any seed only"});
    if (!machine.run.book)
        entries.push_back({"book", "", "name one to have each run entered in it"});
    return entries;
}

Result<std::vector<std::int64_t>> rows_of(const Machine& machine, std::size_t units) {
    std::vector<std::int64_t> rows;
    const std::string list = machine.rows.value_or(fmt::format("1..{}", units));
    for (const std::string_view part : split(list, ',')) {
        const std::size_t dots = part.find("..");
        const auto first = parse_int(trim(part.substr(0, dots)));
        const auto last =
            dots == std::string_view::npos ? first : parse_int(trim(part.substr(dots + 2)));
        if (!first || !last || *first < 1 || *last < *first || *last - *first > 100)
            return usage("--rows", fmt::format("`{}` is no row", part),
                         "as 1..6, or as 1,3,5: one for each unit");
        for (std::int64_t row = *first; row <= *last; ++row)
            rows.push_back(row);
    }
    if (rows.size() != units)
        return usage("--rows", fmt::format("{} rows for {} units", rows.size(), units),
                     "give one for each unit, in the order of the bench's channels");
    return rows;
}

calibration::TerminalSpeed speed_of_seed(const Machine& machine) {
    if (!machine.terminal_mps)
        return calibration::terminal_speed(machine.run.crop.value_or(""));
    const double w = *machine.terminal_mps;
    return {.mps = {w, 0.0}, .low_mps = w, .high_mps = w, .known = true, .source = "as given"};
}

struct Fall {
    std::int64_t us = 0;
    std::int64_t u_us = 0;
    std::string words;
};

Result<Fall> fall_of(const Machine& machine, double gate_mm) {
    const calibration::TerminalSpeed seed = speed_of_seed(machine);
    const auto found = calibration::flight_below(
        calibration::GateHeights{.from_mm = {*machine.valve_height_mm, machine.height_u_mm},
                                 .gate_mm = {gate_mm, machine.height_u_mm},
                                 .terminal_mps = seed.mps},
        Confidence{0.95});
    if (!found)
        return found.error();
    return Fall{
        std::llround(found->flight_us.value), std::max<std::int64_t>(1, std::llround(found->u_us)),
        fmt::format("{}from {:g} mm under a valve at {:g} mm, {} at {:g} to {:g} m/s at "
                    "last ({})",
                    seed.known ? "" : "UNSURE: ", gate_mm, *machine.valve_height_mm,
                    machine.run.crop.value_or("seed"), seed.low_mps, seed.high_mps, seed.source)};
}

Status add_fall(const Machine& machine, const std::string& gate, double height_mm,
                Entries& entries) {
    entries.push_back({gate + "_height_mm", toml(height_mm), "over the ground"});
    if (!machine.valve_height_mm) {
        entries.push_back({gate + "_fall_us", "",
                           "UNSURE: how long seed falls from there follows with the valve's "
                           "height (valve_height_mm)"});
        return Done{};
    }
    const auto fall = fall_of(machine, height_mm);
    if (!fall)
        return fall.error();
    entries.push_back({gate + "_fall_us", toml(fall->us), fall->words});
    entries.push_back({gate + "_fall_u_us", toml(fall->u_us),
                       fmt::format("its standard uncertainty; heights are good to {:g} mm",
                                   machine.height_u_mm)});
    return Done{};
}

Status add_gate(const Machine& machine, std::size_t number, Entries& entries) {
    const GateOfMachine& gate = machine.gates.at(number);
    const std::string name = fmt::format("gate{}", number);
    if (gate.is_none())
        return Done{};
    if (!gate.place) {
        entries.push_back({name + "_place", "",
                           fmt::format("UNSURE: nobody said where {} sits: above or below (the "
                                       "valve)",
                                       gate_words.at(number))});
        return Done{};
    }
    entries.push_back({name + "_place", toml(*gate.place), gate_words.at(number)});
    if (!gate.is_below())
        return Done{};
    if (gate.height_mm)
        return add_fall(machine, name, *gate.height_mm, entries);
    entries.push_back({name + "_fall_us", "",
                       fmt::format("UNSURE: give {}_height_mm, its height over the ground; without "
                                   "it places are not judged",
                                   name)});
    return Done{};
}

Result<Entries> channel_entries(const Machine& machine, const std::string& unit, std::int64_t row) {
    Entries entries{{"unit", toml_text(unit), ""}, {"row", toml(row), ""}};
    if (machine.cells)
        entries.push_back({"cells", toml(*machine.cells), "of the metering disc"});
    if (machine.valve_height_mm)
        entries.push_back(
            {"valve_height_mm", toml(*machine.valve_height_mm), "where the seed begins to fall"});
    for (std::size_t gate = 0; gate < machine.gates.size(); ++gate)
        if (const Status added = add_gate(machine, gate, entries); !added)
            return added.error();
    if (machine.lead_us)
        entries.push_back({"lead_us", toml(*machine.lead_us), "as the controller has it"});
    else
        entries.push_back({"lead_us", "",
                           "UNSURE: the lead that is set in the controller; dropledger calibrate "
                           "lead finds it"});
    return entries;
}

} // namespace

Result<SettingsText> settings_of(const Machine& machine) {
    const auto units = serials_of_list("--units", machine.units.value_or(""));
    if (!units)
        return units.error();
    const auto rows = rows_of(machine, units->size());
    if (!rows)
        return rows.error();
    SettingsText text{
        .head = {fmt::format("Settings of a machine for: dropledger run --settings {}",
                             machine.file),
                 fmt::format("Written by dropledger setup on {}. Change what you "
                             "like; a line marked UNSURE wants a look.",
                             today_utc())},
        .run = run_entries(machine),
        .channels = {}};
    for (std::size_t i = 0; i < units->size(); ++i) {
        auto entries = channel_entries(machine, units->at(i), rows->at(i));
        if (!entries)
            return entries.error();
        text.channels.push_back(*std::move(entries));
    }
    return text;
}

} // namespace dropledger::cli
