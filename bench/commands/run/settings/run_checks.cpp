#include "bench/commands/run/settings/run_checks.hpp"

#include "analysis/base/text.hpp"
#include "analysis/droplog/settings.hpp"
#include "bench/commands/inputs/profiles.hpp"
#include "bench/commands/run/settings/run_fields.hpp"
#include "bench/commands/shell/usage.hpp"

#include <fmt/format.h>

#include <map>

namespace dropledger::cli {

namespace {

using Sentences = std::vector<std::string>;

// A valve or disc that singles seed, and one that only meters it.
constexpr double no_unit_drops_per_s = 100.0;
constexpr double few_units_drops_per_s = 25.0;
constexpr double no_unit_seeds_per_s = 2000.0;

// 1 ms: 3 mm at 3 m/s. 2 s: over 6 m, whatever falls.
constexpr std::int64_t least_fall_us = 1'000;
constexpr std::int64_t short_fall_us = 5'000;
constexpr std::int64_t longest_fall_us = 2'000'000;

Status check_profile(const RunOptions& options, droplog::Mode mode) {
    if (!options.profile)
        return Done{};
    const auto profile = find_profile(*options.profile);
    if (!profile)
        return profile.error();
    if (profile->mode == mode)
        return Done{};
    return usage("--profile",
                 fmt::format("profile '{}' is for mode {}, this run is {}", profile->name,
                             droplog::name_of(profile->mode), droplog::name_of(mode)),
                 "name a profile of this mode, or give the other --mode");
}

double per_second(const recorder::ArmOrder& order) {
    return static_cast<double>(order.speed_um_s) / static_cast<double>(order.spacing_um);
}

Status check_pace(const RunOptions& options, const recorder::ArmOrder& order, Sentences& says) {
    const bool line = order.mode == droplog::Mode::line;
    const double asked = per_second(order);
    const double most =
        options.most_drops_per_s.value_or(line ? no_unit_seeds_per_s : no_unit_drops_per_s);
    const std::string words = fmt::format(
        "{} mm at {} m/s are {:.1f} {} a second", static_cast<double>(order.spacing_um) / 1e3,
        static_cast<double>(order.speed_um_s) / 1e6, asked, line ? "seeds" : "drops");
    if (asked > most)
        return usage(line ? "--rate-per-m" : "--spacing-mm",
                     fmt::format("{}, over the {:g} that {}", words, most,
                                 options.most_drops_per_s ? "this unit can make (most_drops_per_s)"
                                                          : "any unit makes"),
                     "look at spacing and speed: 1 m/s are 3.6 km/h");
    if (!line && !options.most_drops_per_s && asked > few_units_drops_per_s)
        says.push_back(words + ": few units can do that; look at spacing and speed.");
    return Done{};
}

Status check_fall(const recorder::ChannelSetting& one, Sentences& says) {
    const auto fall_us = parse_int(one.value);
    if (!fall_us || *fall_us == 0)
        return Done{};
    const std::string where = fmt::format("channel {}, {}", one.channel, one.key);
    if (*fall_us < least_fall_us)
        return usage_error(where,
                           fmt::format("{} us is no fall: that is under 1 ms, and 50 mm take "
                                       "about 20 to 100 ms",
                                       *fall_us),
                           *fall_us <= 1000
                               ? fmt::format("did you mean {} ms, {}?", *fall_us, *fall_us * 1000)
                               : "");
    if (*fall_us > longest_fall_us)
        return usage_error(where,
                           fmt::format("{} us is no fall: no gate is {} s over the ground",
                                       *fall_us, *fall_us / 1'000'000),
                           "give microseconds: 60 ms are 60000");
    if (*fall_us < short_fall_us)
        says.push_back(fmt::format("{}: {} us is a very short fall: the gate would be within a few "
                                   "millimetres of the ground.",
                                   where, *fall_us));
    return Done{};
}

bool counts_only(const recorder::RunPlan& plan, int channel, const std::string& gate) {
    const std::string place = recorder::setting_of(plan.channel_settings, channel, gate + "_place");
    return droplog::gate_place_of(place) == droplog::GatePlace::above;
}

Status check_falls(const recorder::RunPlan& plan, Sentences& says) {
    for (const recorder::ChannelSetting& one : plan.channel_settings) {
        if (!one.key.ends_with("_fall_us") ||
            counts_only(plan, one.channel, one.key.substr(0, one.key.find('_'))))
            continue;
        if (Status fits = check_fall(one, says); !fits)
            return fits;
    }
    return Done{};
}

Status check_serials(const recorder::RunPlan& plan) {
    std::map<std::string, int> channels;
    for (const recorder::ChannelSetting& one : plan.channel_settings) {
        if (one.key != "unit")
            continue;
        const auto [known, is_new] = channels.emplace(one.value, one.channel);
        if (!is_new)
            return usage("--unit",
                         fmt::format("{} is named twice: for channel {} and channel {}", one.value,
                                     known->second, one.channel),
                         "each unit has a serial number of its own");
    }
    return Done{};
}

} // namespace

Result<Sentences> check_plan(const RunOptions& options, const recorder::RunPlan& plan) {
    Sentences says;
    if (const Status fits = check_profile(options, plan.order.mode); !fits)
        return fits.error();
    if (const Status fits = check_pace(options, plan.order, says); !fits)
        return fits.error();
    if (const Status fits = check_serials(plan); !fits)
        return fits.error();
    if (const Status fits = check_falls(plan, says); !fits)
        return fits.error();
    return says;
}

} // namespace dropledger::cli
