#include "calibration/flight/strip_flight.hpp"

#include "analysis/base/results.hpp"
#include "analysis/statistics/basics/distributions.hpp"
#include "analysis/statistics/basics/moments.hpp"
#include "analysis/statistics/trends/line_fit.hpp"
#include "calibration/lead/travel_step.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::calibration {

using statistics::Estimate;
using statistics::Interval;

namespace {

constexpr double us_per_ms = 1000.0;
constexpr double longest_us = 1e6;       // 5 m of free fall
constexpr double tick_u_us = 0.28867513; // a tick is 1 µs: 1/√12

Error unusable(std::string what, std::string remedy) {
    return input_error("flight", std::move(what), std::move(remedy));
}

double longest_step_u_mm(const std::vector<Strip>& strips) {
    double longest = 0.0;
    for (const Strip& strip : strips)
        longest = std::max(longest, travel_step_u_mm(strip.step_mm));
    return longest;
}

Estimate estimate(double value, double half, Confidence confidence, std::string method) {
    return {.value = value,
            .interval = Interval{value - half, value + half},
            .confidence = confidence,
            .method = std::move(method)};
}

Result<StripFlight> with_zero(const std::vector<Strip>& strips, const RuleZero& zero,
                              Confidence confidence) {
    std::vector<Landing> all;
    double per_mm_us = 0.0;
    for (const Strip& strip : strips)
        for (Landing seed : strip.matched) {
            seed.landing_mm += *zero.mm;
            per_mm_us += us_per_ms / seed.speed_mps;
            all.push_back(seed);
        }
    per_mm_us = std::fabs(per_mm_us) / static_cast<double>(all.size());
    const double step_u_mm = longest_step_u_mm(strips);
    auto found = flight(all, std::hypot(zero.u_mm, step_u_mm), confidence);
    if (!found)
        return found.error();
    StripFlight out;
    out.result = *std::move(found);
    const double seeds = *out.result.scatter_us / std::sqrt(static_cast<double>(all.size()));
    out.budget = {
        {"scatter from seed to seed, reading of the rule, travel between its readings", seeds},
        {"where the rule's zero lies", per_mm_us * zero.u_mm},
        {"travel told in whole counts", per_mm_us * step_u_mm},
        {"the controller's microsecond", tick_u_us}};
    return out;
}

struct RunMean {
    double speed_mps = 0.0;
    double shift_mm = 0.0;
    double u_mm = 0.0;
    double degrees = 0.0;
};

Result<RunMean> mean_of(const Strip& strip) {
    statistics::Moments speeds;
    statistics::Moments shifts;
    for (const Landing& seed : strip.matched) {
        speeds.add(seed.speed_mps);
        shifts.add(seed.landing_mm - seed.position_mm);
    }
    const auto n = static_cast<double>(strip.matched.size());
    if (!shifts.sample_sd() || !(*shifts.sample_sd() > 0.0))
        return unusable(fmt::format("{}: all landings lie at the same distance", strip.file),
                        "rule readings to 0.5 mm scatter");
    return RunMean{*speeds.mean(), *shifts.mean(), *shifts.sample_sd() / std::sqrt(n), n - 1.0};
}

struct Line {
    double flight_ms = 0.0;
    double flight_u_ms = 0.0;
    double shift_mm = 0.0; // at standstill
    double shift_u_mm = 0.0;
    double factor = 0.0; // for the interval
    std::optional<double> lack_of_fit_p;
};

Line through_two(const RunMean& a, const RunMean& b, Confidence confidence) {
    const double apart = b.speed_mps - a.speed_mps;
    Line line;
    line.flight_ms = (b.shift_mm - a.shift_mm) / apart;
    line.flight_u_ms = std::hypot(a.u_mm, b.u_mm) / std::fabs(apart);
    line.shift_mm = a.shift_mm - a.speed_mps * line.flight_ms;
    line.shift_u_mm = std::hypot(b.speed_mps * a.u_mm, a.speed_mps * b.u_mm) / std::fabs(apart);
    const double degrees = std::pow(a.u_mm * a.u_mm + b.u_mm * b.u_mm, 2) /
                           (std::pow(a.u_mm, 4) / a.degrees + std::pow(b.u_mm, 4) / b.degrees);
    line.factor = statistics::student_t_quantile(1.0 - confidence.each_tail(), degrees);
    return line;
}

Line through_all(const std::vector<RunMean>& means, Confidence confidence) {
    std::vector<statistics::FitPoint> points;
    points.reserve(means.size());
    for (const RunMean& mean : means)
        points.push_back({mean.speed_mps, mean.shift_mm, mean.u_mm, {}});
    const auto fit = statistics::fit_line(points);
    if (!fit)
        throw BrokenInvariant("flight: speeds differ, yet no line fits");
    return {fit->slope,
            fit->u_slope,
            fit->intercept,
            fit->u_intercept,
            fit->coverage_factor(confidence),
            fit->lack_of_fit_p};
}

bool speeds_differ(const std::vector<RunMean>& means) {
    constexpr double enough = 0.2; // of the fastest
    double low = means.front().speed_mps;
    double high = low;
    double fastest = 0.0;
    for (const RunMean& mean : means) {
        low = std::min(low, mean.speed_mps);
        high = std::max(high, mean.speed_mps);
        fastest = std::max(fastest, std::fabs(mean.speed_mps));
    }
    return high - low >= enough * fastest;
}

double scatter_us(const std::vector<Strip>& strips, const Line& line) {
    statistics::Moments times;
    for (const Strip& strip : strips)
        for (const Landing& seed : strip.matched)
            times.add((seed.landing_mm - seed.position_mm - line.shift_mm) / seed.speed_mps *
                      us_per_ms);
    return *times.sample_sd();
}

Result<StripFlight> without_zero(const std::vector<Strip>& strips, const RuleZero& zero,
                                 Confidence confidence) {
    const auto found = each(strips, mean_of);
    if (!found)
        return found.error();
    const std::vector<RunMean>& means = *found;
    if (!speeds_differ(means))
        return unusable("where the rule's zero lies against the travel is not known, and all runs "
                        "have one speed",
                        "give `rule_zero_mm`, or logs at two travel speeds a fifth apart at least");
    const Line line = means.size() == 2 ? through_two(means[0], means[1], confidence)
                                        : through_all(means, confidence);
    const double common_mm = std::hypot(zero.u_mm, longest_step_u_mm(strips));
    StripFlight out;
    out.lack_of_fit_p = line.lack_of_fit_p;
    out.zero_mm = estimate(-line.shift_mm, line.factor * std::hypot(line.shift_u_mm, common_mm),
                           confidence, "straight line in travel speed");
    for (const Strip& strip : strips)
        out.result.landings += static_cast<std::int64_t>(strip.matched.size());
    out.result.scatter_us = scatter_us(strips, line);
    out.result.u_us = std::hypot(line.flight_u_ms * us_per_ms, tick_u_us);
    out.result.flight_us =
        estimate(line.flight_ms * us_per_ms, line.factor * out.result.u_us, confidence,
                 "landings by rule at several speeds, straight line");
    out.budget = {{"scatter from seed to seed, reading of the rule, travel between its readings",
                   line.flight_u_ms * us_per_ms},
                  {"where the rule's zero lies (found from the speeds)", 0.0},
                  {"travel told in whole counts (alike at all speeds)", 0.0},
                  {"the controller's microsecond", tick_u_us}};
    if (out.result.flight_us.value < 0.0)
        return unusable("seeds land before the gate sees them",
                        "check that rule and travel count the same way");
    return out;
}

} // namespace

Result<StripFlight> flight(const std::vector<Strip>& strips, const RuleZero& zero,
                           Confidence confidence) {
    if (!(zero.u_mm >= 0.0) || !std::isfinite(zero.u_mm))
        return usage_error("flight", "an uncertainty of the rule below 0",
                           "millimetres, 0 or more");
    if (strips.empty())
        return unusable("no run over a strip", "name a log and its table of landings");
    if (zero.mm && !std::isfinite(*zero.mm))
        return usage_error("flight", "a rule whose zero lies nowhere", "millimetres of travel");
    auto found =
        zero.mm ? with_zero(strips, zero, confidence) : without_zero(strips, zero, confidence);
    if (found && found->result.flight_us.value > longest_us)
        return unusable(fmt::format("a fall of {:.1f} s: no seed falls that long from a unit",
                                    found->result.flight_us.value / 1e6),
                        "check where the rule's zero lies, and that the table is of this run");
    return found;
}

FlightComparison compare(const FlightResult& data, const FlightResult& geometry,
                         Confidence confidence) {
    FlightComparison out;
    out.difference_us = data.flight_us.value - geometry.flight_us.value;
    const auto half = [](const FlightResult& one) {
        return (one.flight_us.interval->high - one.flight_us.interval->low) / 2.0;
    };
    const double reach = std::hypot(half(data), half(geometry));
    out.u_us = std::hypot(data.u_us, geometry.u_us);
    out.agree = std::fabs(out.difference_us) <= reach;
    const std::string sizes = fmt::format(
        "{:.1f} ms and {:.1f} ms, difference {:.1f} ms, {:.0f} % limits of it {:.1f} to {:.1f} ms",
        data.flight_us.value / us_per_ms, geometry.flight_us.value / us_per_ms,
        out.difference_us / us_per_ms, 100.0 * confidence.level(),
        (out.difference_us - reach) / us_per_ms, (out.difference_us + reach) / us_per_ms);
    out.words =
        out.agree
            ? fmt::format("Landings and geometry agree within their uncertainties ({}).", sizes)
            : fmt::format("Landings and geometry do not agree within their uncertainties ({}). "
                          "Measure height and exit "
                          "speed again, say the seed's terminal speed, or look for seed that "
                          "bounces or rolls on the "
                          "strip; the landings are kept.",
                          sizes);
    return out;
}

} // namespace dropledger::calibration
