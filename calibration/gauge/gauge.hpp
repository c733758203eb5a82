// How well a bench repeats itself: units × operators × repeats, random-effects analysis of
// variance.
//
// Assumes: balanced (every operator measures every unit equally often, at least twice); units and
// operators are drawn from many. The interaction is pooled into repeatability where its p-value is
// above 0.25.
// Units: the value's own.
// Undefined when: not balanced, or fewer than 2 units, operators or repeats: refused.
// Source: AIAG MSA; intervals of the components: chi-squared (repeatability), modified large sample
// (Graybill & Wang 1980 for sums, Ting et al. 1990 for differences of mean squares).
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/statistics/basics/estimate.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::calibration {

struct GaugeReading {
    std::string unit;
    std::string operator_name;
    std::string trial;
    double value = 0.0;
};

// CSV with the columns unit, operator, trial, value.
[[nodiscard]] Result<std::vector<GaugeReading>> read_gauge(std::string_view text,
                                                           const std::string& file);

struct AnovaRow {
    std::string source; // unit, operator, interaction, repeatability, total
    double sum_of_squares = 0.0;
    std::int64_t degrees = 0;
    std::optional<double> mean_square;
    std::optional<double> f; // against the mean square of repeatability
    std::optional<double> p;
    // Against what the random-effects model asks for: see model_error
    std::optional<double> f_model;
    std::optional<double> p_model;
};

// One number per source of variation.
struct BySource {
    double repeatability = 0.0;
    double reproducibility = 0.0; // operators and their interaction
    double gauge = 0.0;           // both together
    double unit = 0.0;
    double total = 0.0;
};

struct GaugeIntervals {
    statistics::Estimate repeatability;
    statistics::Estimate reproducibility;
    statistics::Estimate operators;                  // of reproducibility
    std::optional<statistics::Estimate> interaction; // likewise; none where pooled
    statistics::Estimate gauge;
    statistics::Estimate unit;
    statistics::Estimate total;
};

struct GaugeStudy {
    std::int64_t units = 0;
    std::int64_t operators = 0;
    std::int64_t repeats = 0;
    std::vector<AnovaRow> anova;
    double interaction_p = 1.0;
    bool interaction_pooled = false;
    std::string model_error; // what main effects are tested against: "interaction" or "pooled
                             // repeatability"
    double model_error_mean_square = 0.0;
    std::int64_t model_error_degrees = 0;
    BySource sd;
    double interaction_variance = 0.0;            // 0 where pooled or estimated below 0
    GaugeIntervals intervals;                     // of the standard deviations
    BySource percent_of_total;                    // of standard deviations
    BySource percent_contribution;                // of variances
    std::optional<BySource> percent_of_tolerance; // 6 standard deviations over the tolerance
    std::optional<double> categories;             // 1.41 · unit / gauge, not yet truncated
};

[[nodiscard]] Result<GaugeStudy> gauge_study(const std::vector<GaugeReading>& readings,
                                             std::optional<double> tolerance,
                                             Confidence confidence);

struct GaugePlan {
    std::int64_t units = 0;
    std::int64_t operators = 0;
    std::int64_t repeats = 0;
    std::uint64_t seed = 0;
};
struct PlannedReading {
    std::int64_t unit = 0; // from 1
    std::int64_t operator_number = 0;
    std::int64_t trial = 0;
};

// Every reading once, in an order drawn at random; the same seed gives the same order on any
// platform.
[[nodiscard]] Result<std::vector<PlannedReading>> plan_gauge(const GaugePlan& plan);

} // namespace dropledger::calibration
