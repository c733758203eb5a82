#include "calibration/flight/flight.hpp"

#include "analysis/base/fall.hpp"
#include "analysis/base/readers/csv_table.hpp"
#include "analysis/statistics/basics/distributions.hpp"
#include "analysis/statistics/basics/moments.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::calibration {

using statistics::Interval;

namespace {

constexpr double us_per_s = 1e6;
constexpr double mm_per_m = 1000.0;

Error impossible(std::string what, std::string remedy) {
    return usage_error("flight", std::move(what), std::move(remedy));
}

Status check(const FlightGeometry& geometry) {
    const auto bad = [](const Input& input, double least) {
        return !std::isfinite(input.value) || !std::isfinite(input.u) || input.value < least ||
               input.u < 0.0;
    };
    if (bad(geometry.height_mm, 0.0) || geometry.height_mm.value > 1e5 ||
        bad(geometry.exit_mps, 0.0))
        return impossible(fmt::format("height {} mm, exit speed {} m/s", geometry.height_mm.value,
                                      geometry.exit_mps.value),
                          "neither is below 0, nor is an uncertainty");
    if (geometry.terminal_mps && bad(*geometry.terminal_mps, 1e-3))
        return impossible("a terminal speed that is not above 0",
                          "leave it out to fall without air");
    if (geometry.terminal_mps && geometry.exit_mps.value >= geometry.terminal_mps->value)
        return impossible(fmt::format("exit speed {} m/s is not below the terminal speed {} m/s",
                                      geometry.exit_mps.value, geometry.terminal_mps->value),
                          "a seed that is blown is not reckoned here: measure landings instead");
    return Done{};
}

// Central where there is room on both sides of the value, else one-sided: inputs end at 0.
template <class Of> double derivative(Of of, double at, double least) {
    const double step = std::max(1e-6, 1e-5 * std::fabs(at));
    const double low = std::max(least, at - step);
    const double high = at + step;
    return (of(high) - of(low)) / (high - low);
}

double uncertainty_s(const FlightGeometry& g) {
    const double h = g.height_mm.value / mm_per_m;
    const double u = g.exit_mps.value;
    const auto w = g.terminal_mps ? std::optional{g.terminal_mps->value} : std::nullopt;
    const double by_height = derivative([&](double x) { return flight_seconds(x, u, w); }, h, 0.0);
    const double by_exit = derivative([&](double x) { return flight_seconds(h, x, w); }, u, 0.0);
    double variance =
        std::pow(by_height * g.height_mm.u / mm_per_m, 2) + std::pow(by_exit * g.exit_mps.u, 2);
    if (w) {
        const double by_terminal =
            derivative([&](double x) { return flight_seconds(h, u, x); }, *w, u);
        variance += std::pow(by_terminal * g.terminal_mps->u, 2);
    }
    return std::sqrt(variance);
}

Status check(const GateHeights& heights) {
    const auto bad = [](const Input& input, double least) {
        return !std::isfinite(input.value) || !std::isfinite(input.u) || input.value < least ||
               input.u < 0.0;
    };
    if (bad(heights.gate_mm, 0.0) || bad(heights.from_mm, 0.0) || heights.from_mm.value > 1e5)
        return impossible(fmt::format("heights of {} mm and {} mm over the ground",
                                      heights.from_mm.value, heights.gate_mm.value),
                          "neither is below 0, nor is an uncertainty");
    if (heights.gate_mm.value >= heights.from_mm.value)
        return impossible(fmt::format("a gate {} mm over the ground below a valve at {} mm",
                                      heights.gate_mm.value, heights.from_mm.value),
                          "measure both from the ground up");
    if (heights.terminal_mps && bad(*heights.terminal_mps, 1e-3))
        return impossible("a terminal speed that is not above 0",
                          "leave it out to fall without air");
    return Done{};
}

// What is left of a fall from rest when the gate is passed.
double seconds_below(double from_m, double gate_m, std::optional<double> terminal_mps) {
    return flight_seconds(from_m, 0.0, terminal_mps) -
           flight_seconds(from_m - gate_m, 0.0, terminal_mps);
}

FlightResult from_geometry(double seconds, double u_s, bool through_air, Confidence confidence) {
    FlightResult out;
    out.u_us = u_s * us_per_s;
    const double half = statistics::normal_quantile(1.0 - confidence.each_tail()) * out.u_us;
    const double value = seconds * us_per_s;
    out.flight_us = {.value = value,
                     .interval = Interval{std::max(0.0, value - half), value + half},
                     .confidence = confidence,
                     .method = through_air ? "fall with quadratic drag, JCGM 100"
                                           : "fall without air, JCGM 100"};
    return out;
}

} // namespace

double flight_seconds(double height_m, double exit_mps, std::optional<double> terminal_mps) {
    if (!terminal_mps)
        return free_fall_seconds(height_m, exit_mps);
    // the height above the gate from which a seed at rest would pass it with the exit speed
    const double w = *terminal_mps;
    const double share = exit_mps / w;
    const double above_m = -w * w / (2.0 * standard_gravity_mps2) * std::log1p(-share * share);
    return drag_fall_seconds(above_m + height_m, w) - drag_fall_seconds(above_m, w);
}

Result<FlightResult> flight(const FlightGeometry& geometry, Confidence confidence) {
    if (const Status status = check(geometry); !status)
        return status.error();
    const auto w =
        geometry.terminal_mps ? std::optional{geometry.terminal_mps->value} : std::nullopt;
    const double seconds =
        flight_seconds(geometry.height_mm.value / mm_per_m, geometry.exit_mps.value, w);
    return from_geometry(seconds, uncertainty_s(geometry), w.has_value(), confidence);
}

Result<FlightResult> flight_below(const GateHeights& heights, Confidence confidence) {
    if (const Status status = check(heights); !status)
        return status.error();
    const double from_m = heights.from_mm.value / mm_per_m;
    const double gate_m = heights.gate_mm.value / mm_per_m;
    const auto w = heights.terminal_mps ? std::optional{heights.terminal_mps->value} : std::nullopt;
    double variance =
        std::pow(derivative([&](double x) { return seconds_below(x, gate_m, w); }, from_m, gate_m) *
                     heights.from_mm.u / mm_per_m,
                 2) +
        std::pow(derivative([&](double x) { return seconds_below(from_m, std::min(x, from_m), w); },
                            gate_m, 0.0) *
                     heights.gate_mm.u / mm_per_m,
                 2);
    if (w)
        variance += std::pow(
            derivative([&](double x) { return seconds_below(from_m, gate_m, x); }, *w, 1e-3) *
                heights.terminal_mps->u,
            2);
    return from_geometry(seconds_below(from_m, gate_m, w), std::sqrt(variance), w.has_value(),
                         confidence);
}

Result<std::vector<Landing>> read_landings(std::string_view text, const std::string& file) {
    const auto table = CsvTable::read(
        text, file, {.needed = {"position_mm", "speed_mps", "landing_mm"}, .optional = {}});
    if (!table)
        return table.error();
    std::vector<Landing> out;
    for (const CsvRow& row : table->rows()) {
        const auto position = table->number(row, 0);
        const auto speed = table->number(row, 1);
        const auto landing = table->number(row, 2);
        for (const auto* value : {&position, &speed, &landing})
            if (!*value)
                return value->error();
        if (*speed == 0.0)
            return table->problem(
                row, "speed_mps is 0: a landing under a bench that stands tells no time",
                "leave the line out; travelling back is a speed below 0");
        out.push_back({*position, *speed, *landing});
    }
    return out;
}

Result<FlightResult> flight(const std::vector<Landing>& landings, double rule_u_mm,
                            Confidence confidence) {
    if (!(rule_u_mm >= 0.0) || !std::isfinite(rule_u_mm))
        return impossible("an uncertainty of the rule below 0", "millimetres, 0 or more");
    if (landings.size() < 3)
        return impossible(fmt::format("{} landings", landings.size()), "at least 3, better 30");
    std::vector<double> times_us;
    double per_mm_us = 0.0; // what a shift of the rule does to the mean
    for (const Landing& seed : landings) {
        times_us.push_back((seed.landing_mm - seed.position_mm) / (seed.speed_mps * mm_per_m) *
                           us_per_s);
        per_mm_us += us_per_s / (seed.speed_mps * mm_per_m) / static_cast<double>(landings.size());
    }
    const statistics::Moments found = statistics::moments(times_us);
    const auto n = static_cast<double>(times_us.size());
    const double by_chance = *found.sample_sd() / std::sqrt(n);
    FlightResult out;
    out.landings = found.count();
    out.scatter_us = found.sample_sd();
    out.u_us = std::hypot(by_chance, per_mm_us * rule_u_mm);
    const double half =
        statistics::student_t_quantile(1.0 - confidence.each_tail(), n - 1.0) * out.u_us;
    out.flight_us = {.value = *found.mean(),
                     .interval = Interval{*found.mean() - half, *found.mean() + half},
                     .confidence = confidence,
                     .method = "landings by rule, mean, Student's t"};
    if (out.flight_us.value < 0.0)
        return impossible("seeds land before the gate sees them",
                          "check the signs of position, speed and landing");
    return out;
}

} // namespace dropledger::calibration
