#include "analysis/causes/speed_dependence.hpp"

#include "analysis/statistics/basics/distributions.hpp"
#include "analysis/statistics/basics/multiplicity.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::causes {

namespace {

constexpr double apart = 1.05; // ratio of two speeds that count as two
constexpr double level = 0.01;
constexpr double least_share = 0.005;
constexpr double least_mm = 3.0;

struct Point {
    double x = 0.0; // speed
    double y = 0.0;
    double weight = 0.0; // 1 / variance
};

struct Fitted {
    double at_zero = 0.0;
    double slope = 0.0;
    double p_value = 1.0;
};

// Undefined when: all points at one speed, or fewer than three: std::nullopt.
std::optional<Fitted> weighted_line(const std::vector<Point>& points) {
    double weight = 0.0;
    double x_sum = 0.0;
    double y_sum = 0.0;
    for (const Point& p : points) {
        weight += p.weight;
        x_sum += p.weight * p.x;
        y_sum += p.weight * p.y;
    }
    if (points.size() < 3 || weight <= 0.0)
        return std::nullopt;
    const double x_mean = x_sum / weight;
    const double y_mean = y_sum / weight;
    double sxx = 0.0;
    double sxy = 0.0;
    double syy = 0.0;
    for (const Point& p : points) {
        sxx += p.weight * (p.x - x_mean) * (p.x - x_mean);
        sxy += p.weight * (p.x - x_mean) * (p.y - y_mean);
        syy += p.weight * (p.y - y_mean) * (p.y - y_mean);
    }
    if (sxx <= 0.0)
        return std::nullopt;
    Fitted line{.at_zero = y_mean - sxy / sxx * x_mean, .slope = sxy / sxx, .p_value = 1.0};
    const double left = std::max(0.0, syy - line.slope * sxy);
    const auto degrees = static_cast<double>(points.size() - 2);
    const double z = std::abs(sxy) / std::sqrt(sxx);
    const bool scattered = statistics::chi_squared_sf(left, degrees) < 0.05;
    line.p_value =
        2.0 * (scattered ? statistics::student_t_sf(z / std::sqrt(left / degrees), degrees)
                         : statistics::normal_sf(z));
    return line;
}

struct Count {
    std::int64_t hits = 0;
    std::int64_t drops = 0;
    double speed_mps = 0.0;
    double inflation = 1.0;
};

// Under the null all runs share one probability, which gives each run's variance.
std::vector<Point> share_points(const std::vector<Count>& counts) {
    double hits = 0.0;
    double drops = 0.0;
    for (const Count& one : counts) {
        hits += static_cast<double>(one.hits);
        drops += static_cast<double>(one.drops);
    }
    std::vector<Point> points;
    if (drops <= 0.0 || hits <= 0.0 || hits >= drops)
        return points;
    const double variance = hits / drops * (1.0 - hits / drops);
    for (const Count& one : counts)
        if (one.drops > 0) {
            const auto n = static_cast<double>(one.drops);
            points.push_back({one.speed_mps, static_cast<double>(one.hits) / n,
                              n / variance / std::max(1.0, one.inflation)});
        }
    return points;
}

std::vector<Point> points_of(std::span<const SpeedRun> runs, SpeedTrend::What what) {
    std::vector<Count> counts;
    std::vector<Point> points;
    for (const SpeedRun& run : runs) {
        if (what == SpeedTrend::What::misses)
            counts.push_back({run.misses, run.drops, run.speed_mps, run.inflation});
        else if (what == SpeedTrend::What::multiples && run.multiples)
            counts.push_back({*run.multiples, run.drops, run.speed_mps, run.inflation});
        else if (what == SpeedTrend::What::offset && run.offset && run.offset->u_mm > 0.0)
            points.push_back(
                {run.speed_mps, run.offset->mm, 1.0 / (run.offset->u_mm * run.offset->u_mm)});
    }
    return what == SpeedTrend::What::offset ? points : share_points(counts);
}

double slowest_of(std::span<const SpeedRun> runs) {
    return std::min_element(
               runs.begin(), runs.end(),
               [](const SpeedRun& a, const SpeedRun& b) { return a.speed_mps < b.speed_mps; })
        ->speed_mps;
}

double fastest_of(std::span<const SpeedRun> runs) {
    return std::max_element(
               runs.begin(), runs.end(),
               [](const SpeedRun& a, const SpeedRun& b) { return a.speed_mps < b.speed_mps; })
        ->speed_mps;
}

Cause cause_of(const SpeedTrend& trend, std::span<const SpeedRun> runs, const SpeedWords& words) {
    const std::string speeds = fmt::format("from {:.2f} to {:.2f} m/s, {} {}", slowest_of(runs),
                                           fastest_of(runs), runs.size(), words.runs);
    Cause cause{.kind = CauseKind::speed_dependence,
                .p_value = trend.p_value,
                .evidence = {},
                .look_at = {},
                .drops = {}};
    const auto shares = [&](std::string_view what) {
        return fmt::format("{} go from {:.1f} % to {:.1f} % of the drops {}", what,
                           100.0 * trend.slowest, 100.0 * trend.fastest, speeds);
    };
    switch (trend.what) {
    case SpeedTrend::What::misses:
        cause.evidence = shares(words.misses);
        cause.look_at = trend.per_mps > 0.0 ? "cells that no longer fill at speed: suction, seed "
                                              "level, agitator; else drive slower"
                                            : "what misses at low speed: suction, the valve's "
                                              "hold, the drive's lowest revolutions";
        break;
    case SpeedTrend::What::multiples:
        cause.evidence = shares("multiples");
        cause.look_at = "the singulator's setting, which holds for one speed of the disc only";
        break;
    case SpeedTrend::What::offset:
        cause.evidence = fmt::format("the offset goes from {:+.1f} to {:+.1f} mm {}: {:+.1f} ms of "
                                     "lag that no lead takes up",
                                     trend.slowest, trend.fastest, speeds, trend.per_mps);
        cause.look_at =
            "the lead that is set: calibrate it over these speeds (dropledger calibrate lead)";
        break;
    }
    return cause;
}

bool matters(const SpeedTrend& trend) {
    const double least = trend.what == SpeedTrend::What::offset ? least_mm : least_share;
    return trend.p_value <= level && std::abs(trend.fastest - trend.slowest) >= least;
}

} // namespace

std::int64_t distinct_speeds(std::span<const SpeedRun> runs) {
    std::vector<double> speeds;
    for (const SpeedRun& run : runs)
        if (run.speed_mps > 0.0)
            speeds.push_back(run.speed_mps);
    std::sort(speeds.begin(), speeds.end());
    std::int64_t distinct = 0;
    double last = 0.0;
    for (const double speed : speeds)
        if (speed > apart * last) {
            ++distinct;
            last = speed;
        }
    return distinct;
}

std::vector<SpeedTrend> speed_trends(std::span<const SpeedRun> runs) {
    std::vector<SpeedTrend> trends;
    if (distinct_speeds(runs) < 3)
        return trends;
    std::vector<double> p_values;
    using What = SpeedTrend::What;
    for (const What what : {What::misses, What::multiples, What::offset}) {
        const auto line = weighted_line(points_of(runs, what));
        if (!line)
            continue;
        trends.push_back({.what = what,
                          .slowest = line->at_zero + line->slope * slowest_of(runs),
                          .fastest = line->at_zero + line->slope * fastest_of(runs),
                          .per_mps = line->slope,
                          .p_value = line->p_value});
        p_values.push_back(line->p_value);
    }
    const std::vector<double> adjusted = statistics::holm(p_values);
    for (std::size_t i = 0; i < trends.size(); ++i)
        trends[i].p_value = adjusted[i];
    return trends;
}

std::vector<Cause> speed_causes(std::span<const SpeedRun> runs, const SpeedWords& words) {
    std::vector<Cause> causes;
    for (const SpeedTrend& trend : speed_trends(runs))
        if (matters(trend))
            causes.push_back(cause_of(trend, runs, words));
    return causes;
}

} // namespace dropledger::causes
