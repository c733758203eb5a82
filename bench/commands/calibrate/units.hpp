// Calibrating all units of a machine's log at once: which units there are, and what becomes of their records.
//
// A record a unit: FOLDER/ID-UNIT.toml. On request they are entered in the book, and what they want
// to be set is put into the run's settings file, whose other lines stay as they are.
#pragma once

#include "bench/commands/calibrate/way.hpp"

#include <nlohmann/json.hpp>

#include <algorithm>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::cli {

struct UnitOnLog {
    int channel = 0;
    std::string unit; // or "channel 3"
};

// As the logs' heads name them, all or the one on `channel`. Fails where a channel carries one unit in
// one log and another in the next: their drops would be thrown together.
[[nodiscard]] Result<std::vector<UnitOnLog>> asked_units(const std::vector<std::string>& logs,
                                                         std::optional<std::int64_t> channel);

// What was found for each of several units, or for the one that was asked for (`several` false).
template <class Found> struct OfUnits {
    struct One {
        UnitOnLog unit;
        Found found;
    };
    std::vector<One> units;
    std::vector<std::string> left_out; // sentences
    bool several = false;
};

// `find` with each unit's channel in turn; a unit whose input does not do is left out and named.
template <class Found, class Options, class Find>
[[nodiscard]] Result<OfUnits<Found>> found_of_several(const std::vector<UnitOnLog>& units,
                                                      const Options& options, const Find& find) {
    OfUnits<Found> all;
    all.several = true;
    std::optional<Error> first;
    for (const UnitOnLog& unit : units) {
        Options own = options;
        own.channel = unit.channel;
        auto one = find(own);
        if (!one) {
            all.left_out.push_back(unit.unit + ": " + one.error().message());
            first = first.value_or(one.error());
            continue;
        }
        all.units.push_back({unit, *std::move(one)});
    }
    if (all.units.empty())
        return *first;
    return all;
}

// What `find` finds for each unit of the logs, or with the options as they are where it is one.
template <class Found, class Options, class Find>
[[nodiscard]] Result<OfUnits<Found>> found_of_units(const Options& options, const Find& find) {
    const auto units = asked_units(options.logs, options.channel);
    if (!units)
        return units.error();
    if (units->size() > 1)
        return found_of_several<Found>(*units, options, find);
    auto one = find(options);
    if (!one)
        return one.error();
    OfUnits<Found> all;
    all.units.push_back({units->empty() ? UnitOnLog{} : units->front(), *std::move(one)});
    return all;
}

// `one` makes the JSON of what was found for a unit; that of a single one stands for itself.
template <class Found, class One>
[[nodiscard]] nlohmann::ordered_json json_of_units(const char* schema, const OfUnits<Found>& all,
                                                   const One& one) {
    if (!all.several)
        return one(all.units.front().found);
    nlohmann::ordered_json json{{"schema", schema}, {"units", nlohmann::ordered_json::array()}};
    for (const auto& [unit, found] : all.units)
        json["units"].push_back(
            {{"channel", unit.channel}, {"unit", unit.unit}, {"found", one(found)}});
    json["left_out"] = all.left_out;
    return json;
}

// The worst of all units; no better than undecided where one was left out.
template <class Found, class One>
[[nodiscard]] int status_of_units(const OfUnits<Found>& all, const One& one) {
    int worst = all.left_out.empty() ? 0 : 2;
    for (const auto& of_unit : all.units)
        worst = std::max(worst, one(of_unit.found));
    return worst;
}

struct ForAllUnits {
    std::optional<std::string> book;
    std::optional<std::string> settings;
};
void add_for_all_options(Command& command, ForAllUnits& options);

// Where and under which name the record of one of several units is written. Fails where --write
// names no folder.
[[nodiscard]] Result<WriteOptions> record_of_unit(const WriteOptions& options,
                                                  const UnitOnLog& unit);

// Fails where a book or settings were asked for and no record is written.
[[nodiscard]] Status check_for_all(const ForAllUnits& options, const WriteOptions& record);

[[nodiscard]] Status enter_in_book(const ForAllUnits& options,
                                   const std::vector<std::string>& records);

struct LeadToSet {
    UnitOnLog unit;
    std::int64_t lead_us = 0;
};
[[nodiscard]] Status set_leads(const ForAllUnits& options, const std::vector<LeadToSet>& leads);
[[nodiscard]] Status set_calibrations(const ForAllUnits& options,
                                      const std::vector<std::string>& records);

} // namespace dropledger::cli
