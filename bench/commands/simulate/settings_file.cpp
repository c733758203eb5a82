#include "bench/commands/simulate/settings_file.hpp"

#include "analysis/base/text.hpp"
#include "bench/commands/inputs/settings_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <utility>

namespace dropledger::cli {

namespace {

// Keys whose unit differs between the log's settings and the command line's.
struct Converted {
    std::string_view log_key;
    std::string_view file_key;
    double divisor;
};

constexpr std::array<Converted, 3> converted{{{"spacing_um", "spacing_mm", 1000.0},
                                              {"rate_per_m_milli", "rate_per_m", 1000.0},
                                              {"speed_um_s", "speed_mps", 1e6}}};

SettingsEntry entry(const bench_virtual::Setting& setting) {
    const auto number = parse_int(setting.value);
    const auto* const other =
        std::find_if(converted.begin(), converted.end(),
                     [&](const Converted& c) { return c.log_key == setting.key; });
    if (other != converted.end() && number)
        return {std::string(other->file_key),
                fmt::format("{}", static_cast<double>(*number) / other->divisor), ""};
    const std::string key = setting.key == "tolerance" ? std::string{"profile"} : setting.key;
    return {key, number ? setting.value : toml_text(setting.value), ""};
}

} // namespace

std::string settings_file(const bench_virtual::Scenario& scenario) {
    SettingsText text{.head = {fmt::format("Settings that fit the virtual bench \"{}\" (invented), "
                                           "for dropledger run --settings.",
                                           scenario.name)},
                      .run = {},
                      .channels = {}};
    std::int64_t channel = -1;
    for (const bench_virtual::Setting& setting : suggested_settings(scenario)) {
        if (setting.channel != channel) {
            channel = setting.channel;
            text.channels.push_back({{"channel", std::to_string(channel), ""}});
        }
        (channel < 0 ? text.run : text.channels.back()).push_back(entry(setting));
    }
    return to_toml(text);
}

} // namespace dropledger::cli
