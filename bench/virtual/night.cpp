#include "bench/virtual/night.hpp"

#include "bench/virtual/unit/random.hpp"

#include <fmt/format.h>

#include <array>
#include <utility>
#include <vector>

namespace dropledger::bench_virtual {

namespace {

constexpr std::int64_t rows = 8;
constexpr std::int64_t fields = 3;
constexpr std::int64_t passes_of_field = 16;
constexpr std::int64_t drops_of_pass = 750;
constexpr std::int64_t cells = 24;
constexpr double row_spacing_m = 0.5;
constexpr double drop_spacing_m = 0.2;
constexpr double drop_time_s = 0.8; // 0.25 m/s
constexpr double turn_s = 30.0;
constexpr double began_s = 1776196800.0; // 2026-04-14 20:00 UTC

struct Corner {
    double east_m = 0.0;
    double north_m = 0.0;
};
constexpr std::array<Corner, fields> corners{{{0.0, 0.0}, {120.0, 40.0}, {250.0, -15.0}}};

enum class Fault { none, bridging, bad_cell, empty_container, start_loss, dirty_sensor };

std::string_view name_of(Fault fault) {
    constexpr std::array<std::string_view, 6> names{"random",          "bridging",   "bad_cell",
                                                    "empty_container", "start_loss", "sensor"};
    return names.at(static_cast<std::size_t>(fault));
}

struct Place {
    std::int64_t pass = 0;
    std::int64_t drop = 0;
};

// One unit through the night.
class NightUnit {
public:
    NightUnit(Fault fault, Random random) : fault_(fault), random_(random) {}

    // Why no seed falls; empty where one does.
    [[nodiscard]] std::string_view missing(const Place& at) {
        const bool by_fault = fails(at);
        const bool by_chance = random_.chance(0.005);
        if (by_fault)
            return name_of(fault_);
        return by_chance ? name_of(Fault::none) : std::string_view{};
    }
    [[nodiscard]] bool seen() {
        return random_.chance(fault_ == Fault::dirty_sensor ? dirty_sensor_efficiency : 0.997);
    }
    [[nodiscard]] bool doubled() { return random_.chance(0.01); }
    // At the third silent drop in a row, and at every 25th from there.
    [[nodiscard]] bool alert(bool silent, const Place& at) {
        if (at.drop == 0)
            silent_ = 0;
        silent_ = silent ? silent_ + 1 : 0;
        return silent_ >= 3 && (silent_ - 3) % 25 == 0;
    }

private:
    [[nodiscard]] bool fails(const Place& at) {
        switch (fault_) {
        case Fault::bridging:
            bridged_ = bridged_ ? !random_.chance(0.1) : random_.chance(2.0 / drops_of_pass);
            return bridged_;
        case Fault::bad_cell:
            return (at.drop + at.pass * drops_of_pass) % cells == 7 && random_.chance(0.6);
        case Fault::empty_container:
            return at.pass == 29 || (at.pass == 28 && at.drop >= 300) ||
                   (at.pass == 30 && at.drop < 200);
        case Fault::start_loss:
            return at.drop < 6;
        case Fault::dirty_sensor:
        case Fault::none:
            return false;
        }
        return false;
    }

    Fault fault_;
    Random random_;
    bool bridged_ = false;
    std::int64_t silent_ = 0;
};

std::vector<NightUnit> units_of(std::uint64_t seed) {
    std::vector<Fault> faults{Fault::bridging,   Fault::bad_cell,     Fault::empty_container,
                              Fault::start_loss, Fault::dirty_sensor, Fault::none,
                              Fault::none,       Fault::none};
    Random random(seed, 0);
    for (std::size_t i = faults.size(); i-- > 1;)
        std::swap(faults[i], faults[random.below(i + 1)]);
    std::vector<NightUnit> units;
    for (std::size_t row = 0; row < faults.size(); ++row)
        units.emplace_back(faults[row], Random(seed, row + 1));
    return units;
}

// Row 1 is the left one in travel; passes go up and down in turn.
Corner place_of(const Place& at, std::int64_t row) {
    const std::int64_t in_field = (at.pass - 1) % passes_of_field;
    const Corner& corner = corners.at(static_cast<std::size_t>((at.pass - 1) / passes_of_field));
    const bool back = in_field % 2 == 1;
    const auto side = static_cast<double>(back ? rows + 1 - row : row);
    const auto along = static_cast<double>(back ? drops_of_pass - 1 - at.drop : at.drop);
    return {corner.east_m + row_spacing_m * (static_cast<double>(rows * in_field) + side),
            corner.north_m + drop_spacing_m * along};
}

std::string table_line(const Place& at, std::int64_t row, std::int64_t seen, bool alert) {
    constexpr double metres_per_degree_north = 111267.37; // WGS 84 at 52 degrees north
    constexpr double metres_per_degree_east = 68676.49;
    const Corner place = place_of(at, row);
    const double time_s =
        began_s + static_cast<double>(at.pass - 1) * (drop_time_s * drops_of_pass + turn_s) +
        drop_time_s * static_cast<double>(at.drop);
    return fmt::format("{:.1f},{},{},{},{:.7f},{:.7f},1,{},{}\n", time_s, at.pass, row, at.drop,
                       52.0 + place.north_m / metres_per_degree_north,
                       10.0 + place.east_m / metres_per_degree_east, seen, alert ? 1 : 0);
}

void one_drop(NightUnit& unit, const Place& at, std::int64_t row, const NightSinks& sinks,
              NightSummary& summary) {
    const std::string_view why = unit.missing(at);
    const bool doubled = unit.doubled();
    const bool sees = unit.seen();
    const std::int64_t seeds = !why.empty() ? 0 : doubled ? 2 : 1;
    const std::int64_t seen = sees ? seeds : 0;
    const bool alert = unit.alert(seen == 0, at);
    sinks.table(table_line(at, row, seen, alert));
    ++summary.drops;
    summary.alerts += alert ? 1 : 0;
    summary.silent += seen == 0 ? 1 : 0;
    summary.missing += seeds == 0 ? 1 : 0;
    if (seen == 0 && sinks.truth)
        sinks.truth(fmt::format("{},{},{},{},{},{}\n", at.pass, row, at.drop, seeds, seen,
                                seeds > 0 ? "sensor" : why));
}

} // namespace

NightSummary simulate_night(std::uint64_t seed, const NightSinks& sinks) {
    std::vector<NightUnit> units = units_of(seed);
    NightSummary summary;
    sinks.table(std::string(night_header) + "\n");
    if (sinks.truth)
        sinks.truth(std::string(night_truth_header) + "\n");
    for (std::int64_t pass = 1; pass <= fields * passes_of_field; ++pass)
        for (std::int64_t drop = 0; drop < drops_of_pass; ++drop)
            for (std::int64_t row = 1; row <= rows; ++row)
                one_drop(units.at(static_cast<std::size_t>(row - 1)), {pass, drop}, row, sinks,
                         summary);
    return summary;
}

} // namespace dropledger::bench_virtual
