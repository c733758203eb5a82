#include "calibration/gauge/gauge.hpp"

#include "analysis/base/readers/csv_table.hpp"
#include "analysis/base/results.hpp"
#include "analysis/statistics/basics/distributions.hpp"
#include "calibration/gauge/mean_squares.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <tuple>

namespace dropledger::calibration {

using statistics::Estimate;
using statistics::Interval;

namespace {

constexpr double pooling_p = 0.25; // AIAG

struct Design {
    std::vector<std::string> units;
    std::vector<std::string> operators;
    std::int64_t repeats = 0;
    // [unit][operator] -> values
    std::vector<std::vector<std::vector<double>>> cells;
};

Error unusable(std::string what, std::string remedy) {
    return input_error("gauge study", std::move(what), std::move(remedy));
}

// In the order in which they first come.
template <class Name>
std::vector<std::string> distinct(const std::vector<GaugeReading>& readings, Name name) {
    std::vector<std::string> out;
    std::set<std::string> known;
    for (const GaugeReading& reading : readings)
        if (known.insert(reading.*name).second)
            out.push_back(reading.*name);
    return out;
}

std::size_t index_of(const std::vector<std::string>& names, const std::string& name) {
    return static_cast<std::size_t>(std::find(names.begin(), names.end(), name) - names.begin());
}

Status check_repeated(const std::vector<GaugeReading>& readings) {
    std::set<std::tuple<std::string, std::string, std::string>> known;
    for (const GaugeReading& reading : readings)
        if (!known.insert({reading.unit, reading.operator_name, reading.trial}).second)
            return unusable(fmt::format("unit {}, operator {}, trial {} is there twice",
                                        reading.unit, reading.operator_name, reading.trial),
                            "number the trials");
    return Done{};
}

Status check_balanced(const Design& design) {
    for (std::size_t u = 0; u < design.units.size(); ++u)
        for (std::size_t o = 0; o < design.operators.size(); ++o)
            if (const auto count = design.cells[u][o].size();
                count != static_cast<std::size_t>(design.repeats))
                return unusable(
                    fmt::format(
                        "not balanced: unit {} was measured {} times by operator {}, but unit {} "
                        "{} times by operator {}",
                        design.units[u], count, design.operators[o], design.units.front(),
                        design.repeats, design.operators.front()),
                    "every operator measures every unit equally often; repeat what is missing, or "
                    "leave "
                    "that unit or operator out");
    return Done{};
}

Result<Design> design_of(const std::vector<GaugeReading>& readings) {
    if (const Status status = check_repeated(readings); !status)
        return status.error();
    Design design;
    design.units = distinct(readings, &GaugeReading::unit);
    design.operators = distinct(readings, &GaugeReading::operator_name);
    if (design.units.size() < 2 || design.operators.size() < 2)
        return unusable(
            fmt::format("{} units and {} operators", design.units.size(), design.operators.size()),
            "at least 2 of each are needed");
    design.cells.assign(design.units.size(),
                        std::vector<std::vector<double>>(design.operators.size()));
    for (const GaugeReading& reading : readings)
        design
            .cells[index_of(design.units, reading.unit)]
                  [index_of(design.operators, reading.operator_name)]
            .push_back(reading.value);
    design.repeats = static_cast<std::int64_t>(design.cells.front().front().size());
    if (const Status status = check_balanced(design); !status)
        return status.error();
    if (design.repeats < 2)
        return unusable("each unit was measured once by each operator",
                        "repeatability needs at least 2 trials");
    return design;
}

struct Means {
    double all = 0.0;
    std::vector<double> unit;
    std::vector<double> op;
    std::vector<std::vector<double>> cell;
};

double mean_of(const std::vector<double>& values) {
    double sum = 0.0;
    for (const double value : values)
        sum += value;
    return sum / static_cast<double>(values.size());
}

Means means_of(const Design& design) {
    Means means;
    means.op.assign(design.operators.size(), 0.0);
    for (const auto& by_operator : design.cells) {
        std::vector<double> cells;
        cells.reserve(by_operator.size());
        for (const auto& values : by_operator)
            cells.push_back(mean_of(values));
        means.unit.push_back(mean_of(cells));
        for (std::size_t o = 0; o < cells.size(); ++o)
            means.op[o] += cells[o] / static_cast<double>(design.units.size());
        means.cell.push_back(std::move(cells));
    }
    means.all = mean_of(means.unit);
    return means;
}

struct SumsOfSquares {
    double unit = 0.0;
    double op = 0.0;
    double interaction = 0.0;
    double repeatability = 0.0;
};

double square(double x) {
    return x * x;
}

SumsOfSquares sums_of(const Design& design, const Means& means) {
    const auto r = static_cast<double>(design.repeats);
    const auto n = static_cast<double>(design.units.size());
    const auto k = static_cast<double>(design.operators.size());
    SumsOfSquares sums;
    for (std::size_t u = 0; u < design.units.size(); ++u) {
        sums.unit += k * r * square(means.unit[u] - means.all);
        for (std::size_t o = 0; o < design.operators.size(); ++o) {
            sums.interaction +=
                r * square(means.cell[u][o] - means.unit[u] - means.op[o] + means.all);
            for (const double value : design.cells[u][o])
                sums.repeatability += square(value - means.cell[u][o]);
        }
    }
    for (const double mean : means.op)
        sums.op += n * r * square(mean - means.all);
    return sums;
}

struct Ratio {
    std::optional<double> f;
    std::optional<double> p;
};

Ratio ratio(const AnovaRow& row, double error_mean_square, std::int64_t error_degrees) {
    if (!(error_mean_square > 0.0))
        return {};
    const double f = *row.mean_square / error_mean_square;
    return {f, statistics::f_sf(
                   f, {static_cast<double>(row.degrees), static_cast<double>(error_degrees)})};
}

AnovaRow row_of(const char* source, double sum, std::int64_t degrees) {
    return {.source = source,
            .sum_of_squares = sum,
            .degrees = degrees,
            .mean_square = sum / static_cast<double>(degrees),
            .f = {},
            .p = {},
            .f_model = {},
            .p_model = {}};
}

// Rows: 0 unit, 1 operator, 2 interaction, 3 repeatability, 4 total.
void add_anova(const SumsOfSquares& sums, GaugeStudy& study) {
    const std::int64_t n = study.units;
    const std::int64_t k = study.operators;
    study.anova = {row_of("unit", sums.unit, n - 1), row_of("operator", sums.op, k - 1),
                   row_of("interaction", sums.interaction, (n - 1) * (k - 1)),
                   row_of("repeatability", sums.repeatability, n * k * (study.repeats - 1)),
                   row_of("total", sums.unit + sums.op + sums.interaction + sums.repeatability,
                          n * k * study.repeats - 1)};
    study.anova.back().mean_square.reset();
    const AnovaRow& error = study.anova[3];
    for (std::size_t i = 0; i < 3; ++i) {
        const Ratio found = ratio(study.anova[i], *error.mean_square, error.degrees);
        study.anova[i].f = found.f;
        study.anova[i].p = found.p;
    }
}

// Pools, or not, and tests the main effects against what the random-effects model says then.
void choose_error(GaugeStudy& study) {
    const AnovaRow& interaction = study.anova[2];
    const AnovaRow& error = study.anova[3];
    study.interaction_p = interaction.p.value_or(interaction.sum_of_squares > 0.0 ? 0.0 : 1.0);
    study.interaction_pooled = study.interaction_p > pooling_p;
    if (study.interaction_pooled) {
        study.model_error = "pooled repeatability";
        study.model_error_degrees = interaction.degrees + error.degrees;
        study.model_error_mean_square = (interaction.sum_of_squares + error.sum_of_squares) /
                                        static_cast<double>(study.model_error_degrees);
    } else {
        study.model_error = "interaction";
        study.model_error_degrees = interaction.degrees;
        study.model_error_mean_square = *interaction.mean_square;
    }
    for (std::size_t i = 0; i < 2; ++i) {
        const Ratio found =
            ratio(study.anova[i], study.model_error_mean_square, study.model_error_degrees);
        study.anova[i].f_model = found.f;
        study.anova[i].p_model = found.p;
    }
}

// The components as sums and differences of mean squares.
struct Components {
    std::vector<MeanSquare> repeatability;
    std::vector<MeanSquare> op;
    std::vector<MeanSquare> interaction;
    std::vector<MeanSquare> unit;
};

MeanSquare times(double coefficient, const AnovaRow& row) {
    return {coefficient, *row.mean_square, static_cast<double>(row.degrees)};
}

Components components_of(const GaugeStudy& study) {
    const auto n = static_cast<double>(study.units);
    const auto k = static_cast<double>(study.operators);
    const auto r = static_cast<double>(study.repeats);
    const AnovaRow& unit = study.anova[0];
    const AnovaRow& op = study.anova[1];
    const AnovaRow& interaction = study.anova[2];
    const AnovaRow& error = study.anova[3];
    const auto model = [&](double c) {
        return MeanSquare{c, study.model_error_mean_square,
                          static_cast<double>(study.model_error_degrees)};
    };
    Components out;
    out.op = {times(1.0 / (n * r), op), model(-1.0 / (n * r))};
    out.unit = {times(1.0 / (k * r), unit), model(-1.0 / (k * r))};
    if (study.interaction_pooled) {
        out.repeatability = {model(1.0)};
    } else {
        out.repeatability = {times(1.0, error)};
        out.interaction = {times(1.0 / r, interaction), times(-1.0 / r, error)};
    }
    return out;
}

// Terms of the same mean square put together.
std::vector<MeanSquare> sum_of(std::initializer_list<const std::vector<MeanSquare>*> parts) {
    std::vector<MeanSquare> out;
    for (const auto* part : parts)
        for (const MeanSquare& term : *part) {
            const auto same = std::find_if(out.begin(), out.end(), [&](const MeanSquare& known) {
                return known.value == term.value && known.degrees == term.degrees;
            });
            if (same == out.end())
                out.push_back(term);
            else
                same->coefficient += term.coefficient;
        }
    return out;
}

double deviation(double variance) {
    return std::sqrt(std::max(0.0, variance));
}

Estimate deviation_estimate(double sd, Interval variance, Confidence confidence,
                            const char* method) {
    return {.value = sd,
            .interval = Interval{deviation(variance.low), deviation(variance.high)},
            .confidence = confidence,
            .method = method};
}

void add_components(GaugeStudy& study, Confidence confidence) {
    constexpr const char* large_sample = "modified large sample";
    const Components parts = components_of(study);
    study.interaction_variance = std::max(0.0, combined(parts.interaction));
    const double op = std::max(0.0, combined(parts.op));
    BySource& sd = study.sd;
    sd.repeatability = deviation(combined(parts.repeatability));
    sd.reproducibility = deviation(op + study.interaction_variance);
    sd.gauge = std::hypot(sd.repeatability, sd.reproducibility);
    sd.unit = deviation(combined(parts.unit));
    sd.total = std::hypot(sd.gauge, sd.unit);
    const auto interval = [&](std::initializer_list<const std::vector<MeanSquare>*> terms) {
        return modified_large_sample(sum_of(terms), confidence);
    };
    const auto estimate = [&](double value, Interval variance, const char* method) {
        return deviation_estimate(value, variance, confidence, method);
    };
    study.intervals = {
        .repeatability =
            estimate(sd.repeatability, interval({&parts.repeatability}), "chi-squared"),
        .reproducibility =
            estimate(sd.reproducibility, interval({&parts.op, &parts.interaction}), large_sample),
        .operators = estimate(deviation(op), interval({&parts.op}), large_sample),
        .interaction = {},
        .gauge = estimate(sd.gauge, interval({&parts.repeatability, &parts.op, &parts.interaction}),
                          large_sample),
        .unit = estimate(sd.unit, interval({&parts.unit}), large_sample),
        .total = estimate(
            sd.total, interval({&parts.repeatability, &parts.op, &parts.interaction, &parts.unit}),
            large_sample)};
    if (!study.interaction_pooled)
        study.intervals.interaction = estimate(deviation(study.interaction_variance),
                                               interval({&parts.interaction}), large_sample);
}

template <class Scale> BySource scaled(const BySource& sd, Scale scale) {
    return {scale(sd.repeatability), scale(sd.reproducibility), scale(sd.gauge), scale(sd.unit),
            scale(sd.total)};
}

void add_shares(GaugeStudy& study, std::optional<double> tolerance) {
    const BySource& sd = study.sd;
    study.percent_of_total = scaled(sd, [&](double s) { return 100.0 * s / sd.total; });
    study.percent_contribution = scaled(sd, [&](double s) { return 100.0 * square(s / sd.total); });
    constexpr double spread = 6.0; // standard deviations over which a process is taken to vary
    if (tolerance)
        study.percent_of_tolerance =
            scaled(sd, [&](double s) { return 100.0 * spread * s / *tolerance; });
    constexpr double categories = 1.41; // AIAG: the square root of 2, as printed there
    if (sd.gauge > 0.0)
        study.categories = categories * sd.unit / sd.gauge;
}

} // namespace

Result<std::vector<GaugeReading>> read_gauge(std::string_view text, const std::string& file) {
    return CsvTable::read(text, file,
                          {.needed = {"unit", "operator", "trial", "value"}, .optional = {}})
        .and_then([](const CsvTable& table) {
            return each(table.rows(), [&](const CsvRow& row) {
                return table.number(row, 3).transform([&](double value) {
                    return GaugeReading{row.fields[0], row.fields[1], row.fields[2], value};
                });
            });
        });
}

Result<GaugeStudy> gauge_study(const std::vector<GaugeReading>& readings,
                               std::optional<double> tolerance, Confidence confidence) {
    if (tolerance && !(std::isfinite(*tolerance) && *tolerance > 0.0))
        return usage_error("tolerance", fmt::format("{} is no tolerance", *tolerance),
                           "the whole width between the limits, above 0");
    const auto design = design_of(readings);
    if (!design)
        return design.error();
    GaugeStudy study;
    study.units = static_cast<std::int64_t>(design->units.size());
    study.operators = static_cast<std::int64_t>(design->operators.size());
    study.repeats = design->repeats;
    add_anova(sums_of(*design, means_of(*design)), study);
    if (!(study.anova.back().sum_of_squares > 0.0))
        return unusable("all values are the same",
                        "a gauge that always shows one value measures nothing");
    choose_error(study);
    add_components(study, confidence);
    if (!(study.sd.total > 0.0))
        throw BrokenInvariant("gauge study: values differ, but no variance is left");
    add_shares(study, tolerance);
    return study;
}

} // namespace dropledger::calibration
