#include "bench/commands/simulate/settings_file.hpp"

#include "analysis/base/text.hpp"

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

std::string entry(const bench_virtual::Setting& setting) {
    const auto number = parse_int(setting.value);
    const auto* const other =
        std::find_if(converted.begin(), converted.end(),
                     [&](const Converted& c) { return c.log_key == setting.key; });
    if (other != converted.end() && number)
        return fmt::format("{} = {}\n", other->file_key,
                           static_cast<double>(*number) / other->divisor);
    const std::string key = setting.key == "tolerance" ? std::string{"profile"} : setting.key;
    return number ? fmt::format("{} = {}\n", key, *number)
                  : fmt::format("{} = \"{}\"\n", key, setting.value);
}

} // namespace

std::string settings_file(const bench_virtual::Scenario& scenario) {
    std::string text = fmt::format("# Settings that fit the virtual bench \"{}\" (invented), for\n"
                                   "# dropledger run --settings.\n\n[run]\n",
                                   scenario.name);
    std::int64_t channel = -1;
    for (const bench_virtual::Setting& setting : suggested_settings(scenario)) {
        if (setting.channel != channel) {
            channel = setting.channel;
            text += fmt::format("\n[[channel]]\nchannel = {}\n", channel);
        }
        text += entry(setting);
    }
    return text;
}

} // namespace dropledger::cli
