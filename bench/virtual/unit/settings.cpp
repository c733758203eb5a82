#include "analysis/droplog/settings.hpp"
#include "bench/virtual/unit/scenario.hpp"
#include "bench/virtual/unit/unit.hpp"

#include <fmt/format.h>

#include <cmath>

namespace dropledger::bench_virtual {

namespace {

// Collects what has a value.
class Settings {
public:
    explicit Settings(std::int64_t channel) : channel_(channel) {}
    void text(const std::string& key, const std::string& value) {
        if (!value.empty())
            found_.push_back({.channel = channel_, .key = key, .value = value});
    }
    void number(const std::string& key, double value) {
        text(key, fmt::format("{}", std::llround(value)));
    }
    [[nodiscard]] const std::vector<Setting>& found() const { return found_; }

private:
    std::int64_t channel_;
    std::vector<Setting> found_;
};

std::vector<Setting> run_settings(const Scenario& scenario) {
    const Order order = default_order(scenario);
    Settings settings(-1);
    settings.text("bench", scenario.bench_id);
    settings.text("operator", scenario.person);
    settings.text("crop", scenario.crop.name);
    settings.text("seed_lot", scenario.crop.lot);
    if (scenario.crop.thousand_seed_mass_mg > 0)
        settings.number("thousand_seed_mass_mg",
                        static_cast<double>(scenario.crop.thousand_seed_mass_mg));
    settings.text("mode", std::string{name_of(order.mode)});
    if (order.mode == Mode::line) {
        settings.number("rate_per_m_milli", static_cast<double>(scenario.rate_per_m_milli));
    } else {
        settings.number("spacing_um", static_cast<double>(order.spacing_um));
        settings.number("count", static_cast<double>(order.count));
    }
    settings.number("speed_um_s", static_cast<double>(order.speed_um_s));
    settings.text("tolerance", scenario.profile);
    return settings.found();
}

std::vector<Setting> channel_settings(const Scenario& scenario, std::size_t channel) {
    const UnitSpec& unit = scenario.channels.at(channel);
    const UnitTimes times = unit_times(unit, scenario.crop);
    Settings settings(static_cast<std::int64_t>(channel));
    settings.text("unit", unit.unit);
    settings.number("row", static_cast<double>(unit.row));
    if (unit.cells > 0)
        settings.number("cells", static_cast<double>(unit.cells));
    settings.number("lead_us", times.lead_us);
    for (std::size_t g = 0; g < 2; ++g) {
        const auto& gate = unit.gates.at(g);
        if (!gate)
            continue;
        settings.text(fmt::format("gate{}_place", g),
                      std::string(droplog::name_of(gate->above ? droplog::GatePlace::above
                                                               : droplog::GatePlace::below)));
        settings.number(fmt::format("gate{}_fall_us", g), times.gates.at(g).to_ground_us);
        settings.number(fmt::format("gate{}_dead_us", g), static_cast<double>(gate->dead_us));
    }
    return settings.found();
}

} // namespace

std::vector<Setting> suggested_settings(const Scenario& scenario) {
    std::vector<Setting> settings = run_settings(scenario);
    for (std::size_t channel = 0; channel < scenario.channels.size(); ++channel) {
        const auto own = channel_settings(scenario, channel);
        settings.insert(settings.end(), own.begin(), own.end());
    }
    return settings;
}

} // namespace dropledger::bench_virtual
