// A question about a plan and the answer, one struct each: sequential, fixed, interval, acceptance,
// double.
//
// Units: shares as fractions, AQL in percent, minutes of bench time where a pace is given.
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/sampling/double_plan.hpp"
#include "analysis/sampling/double_search.hpp"
#include "analysis/sampling/operating_characteristic.hpp"
#include "analysis/sampling/sampling_plan.hpp"
#include "analysis/statistics/basics/estimate.hpp"
#include "analysis/statistics/stopping/fixed_plan.hpp"
#include "analysis/statistics/stopping/sequential_curve.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::planning {

// How fast drops come on the bench.
struct PaceOptions {
    std::optional<double> speed_mps;
    std::optional<double> spacing_mm;
};
struct Pace {
    double speed_mps = 0.0;
    double spacing_mm = 0.0;
    [[nodiscard]] double minutes(double drops) const {
        return drops * spacing_mm / 1000.0 / speed_mps / 60.0;
    }
};

struct SequentialOptions {
    statistics::TwoPoint points{.good = 0.0, .bad = 0.0, .alpha = 0.05, .beta = 0.10};
    std::optional<std::int64_t> maximum;
    std::optional<std::string> at; // further shares, with commas between
    PaceOptions pace;
};
struct Numbers {
    std::int64_t n = 0;
    std::optional<std::int64_t> accept;
    std::optional<std::int64_t> reject;
};
struct SequentialReport {
    statistics::SequentialPlan plan;
    std::optional<std::int64_t> maximum;
    std::vector<Numbers> table; // every n from 1
    std::vector<statistics::OperatingPoint> curve;
    statistics::OperatingPoint at_good;
    statistics::OperatingPoint at_bad;
    statistics::OperatingPoint longest; // where the mean number of drops is largest
    statistics::FixedPlan fixed;        // the smallest single sample with the same risks
    std::optional<Pace> pace;
};
[[nodiscard]] Result<SequentialReport> sequential_report(const SequentialOptions& options);

struct FixedOptions {
    statistics::TwoPoint points{.good = 0.0, .bad = 0.0, .alpha = 0.05, .beta = 0.10};
    std::optional<std::int64_t> lot;
    PaceOptions pace;
};
struct FixedReport {
    statistics::TwoPoint points;
    statistics::FixedPlan plan;
    std::optional<std::int64_t> lot; // hypergeometric where given
    batch::QualityPoint at_good;
    batch::QualityPoint at_bad;
    std::vector<batch::QualityPoint> curve;
    std::optional<Pace> pace;
};
[[nodiscard]] Result<FixedReport> fixed_report(const FixedOptions& options);

struct IntervalOptions {
    std::int64_t of = 0;
    std::int64_t n = 0;
    double confidence = 0.95;
    std::optional<double> limit;
    PaceOptions pace;
};
struct LaterInterval {
    std::int64_t n = 0;
    statistics::Interval interval;
};
struct IntervalReport {
    std::int64_t of = 0;
    std::int64_t n = 0;
    double confidence = 0.95;
    statistics::Interval clopper_pearson;
    statistics::Interval wilson;
    statistics::Interval jeffreys;
    statistics::Interval mid_p;
    // Clopper-Pearson at 2 … 20 times n, the share staying as it is
    std::vector<LaterInterval> later;
    std::optional<double> limit;
    std::optional<std::int64_t> more; // until the interval no longer holds the limit
    std::int64_t cap = 0;             // `more` is empty: not within so many
    std::optional<Pace> pace;
};
[[nodiscard]] Result<IntervalReport> interval_report(const IntervalOptions& options);

struct AcceptanceOptions {
    std::optional<std::int64_t> lot;
    std::string level = "II";
    std::optional<double> aql;
    std::string severity = "normal";
    std::optional<std::int64_t> n;
    std::optional<std::int64_t> accept;
    std::optional<std::string> at;                   // shares, with commas between
    std::optional<std::string> nonconforming_counts; // whole units in the lot, with commas between
};
struct AcceptanceReport {
    std::optional<batch::AttributePlan> plan; // where it came from the tables
    std::string level;
    double aql = 0.0;
    std::string severity;
    batch::SampleNumbers numbers;
    std::int64_t accept = 0;
    std::optional<std::int64_t> lot;
    std::optional<batch::OutgoingLimit> outgoing_limit;
    std::vector<batch::QualityPoint> curve;
};
[[nodiscard]] Result<AcceptanceReport> acceptance_report(const AcceptanceOptions& options);

struct DoubleOptions {
    batch::DoublePlan plan; // of one's own, unless two levels ask for one to be found
    std::optional<double> good;
    std::optional<double> bad;
    double alpha = 0.05;
    double beta = 0.10;
    std::int64_t ratio = 1; // of the second sample to the first
    std::optional<std::int64_t> lot;
    std::optional<std::string> at; // shares, with commas between
};
struct FoundDouble {
    statistics::TwoPoint points;
    batch::DoublePoint at_good;
    batch::DoublePoint at_bad;
    statistics::FixedPlan single; // the smallest single sample with the same risks
};
struct DoubleReport {
    batch::DoublePlan plan;
    std::optional<FoundDouble> found; // empty: the plan was given
    std::optional<std::int64_t> lot;
    std::vector<batch::DoublePoint> curve;
};
[[nodiscard]] Result<DoubleReport> double_report(const DoubleOptions& options);

// "0.05,0.10"
[[nodiscard]] Result<std::vector<double>> shares_of(const std::string& option,
                                                    const std::string& text);
[[nodiscard]] Result<std::optional<Pace>> pace_of(const PaceOptions& options);

} // namespace dropledger::planning
