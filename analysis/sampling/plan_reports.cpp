#include "analysis/sampling/plan_reports.hpp"

#include "analysis/base/results.hpp"
#include "analysis/base/text.hpp"
#include "analysis/statistics/shares/more_needed.hpp"
#include "analysis/statistics/shares/proportion.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::planning {

namespace {

using namespace dropledger::statistics;

constexpr std::int64_t most_more = 1'000'000;
constexpr std::int64_t shortest_table = 100;
constexpr std::int64_t longest_table = 20'000;

std::vector<Numbers> decision_table(const SequentialPlan& plan, std::int64_t last) {
    std::vector<Numbers> table;
    for (std::int64_t n = 1; n <= last; ++n)
        table.push_back({n, plan.acceptance_number(n), plan.rejection_number(n)});
    return table;
}

// Shares from 0 to where hardly any lot is accepted, some 40 of them.
std::vector<double> curve_shares(batch::SampleNumbers numbers) {
    const double end = batch::share_accepted_with(numbers, 0.005);
    std::vector<double> shares;
    for (int i = 0; i <= 40; ++i)
        shares.push_back(end * i / 40.0);
    return shares;
}

// Whole counts of the lot near those shares, each once.
std::vector<std::int64_t> nearest_counts(const std::vector<double>& shares, std::int64_t lot) {
    std::vector<std::int64_t> counts;
    counts.reserve(shares.size());
    for (const double share : shares)
        counts.push_back(
            std::clamp<std::int64_t>(std::llround(share * static_cast<double>(lot)), 0, lot));
    std::sort(counts.begin(), counts.end());
    counts.erase(std::unique(counts.begin(), counts.end()), counts.end());
    return counts;
}

std::vector<batch::QualityPoint> quality_curve(batch::SampleNumbers numbers,
                                               const std::vector<double>& shares,
                                               std::optional<std::int64_t> lot) {
    std::vector<batch::QualityPoint> curve;
    if (lot) {
        for (const std::int64_t count : nearest_counts(shares, *lot))
            curve.push_back(batch::quality_point_of_lot(numbers, *lot, count));
        return curve;
    }
    for (const double share : shares)
        curve.push_back(batch::quality_point(numbers, share, std::nullopt));
    return curve;
}

Result<std::vector<std::int64_t>> counts_of(const std::string& text, std::int64_t lot) {
    std::vector<std::int64_t> counts;
    for (const auto field : split(text, ',')) {
        const auto count = parse_int(trim(field));
        if (!count || *count < 0 || *count > lot)
            return usage_error("nonconforming_counts",
                               fmt::format("'{}' is no count of units in a lot of {}", field, lot),
                               "give whole numbers with commas between: 0,5,10");
        counts.push_back(*count);
    }
    return counts;
}

// The plan of n and accept, checked.
Result<AcceptanceReport> plan_by_hand(const AcceptanceOptions& options) {
    if (!options.accept)
        return usage_error("plan acceptance", "`n` without `accept`",
                           "say with how many nonconforming units the lot is still accepted");
    if (*options.n < 1 || *options.n > 100'000'000 || *options.accept < 0 ||
        *options.accept >= *options.n)
        return usage_error(
            "plan acceptance",
            fmt::format("a sample of {} that is accepted with {}", *options.n, *options.accept),
            "`accept` is below `n`, and neither is negative");
    AcceptanceReport report;
    report.numbers = {.n = *options.n, .reject = *options.accept + 1};
    report.accept = *options.accept;
    return report;
}

Result<AcceptanceReport> plan_by_table(const AcceptanceOptions& options) {
    if (!options.lot)
        return usage_error("plan acceptance", "`aql` without `lot`", "say how large the lot is");
    const auto severity = batch::parse_severity(options.severity);
    if (!severity)
        return severity.error();
    const auto plan = batch::single_plan(
        {.lot = *options.lot, .level = options.level, .aql = *options.aql, .severity = *severity});
    if (!plan)
        return plan.error();
    AcceptanceReport report;
    report.plan = *plan;
    report.level = options.level;
    report.aql = *options.aql;
    report.severity = options.severity;
    report.numbers = {.n = plan->n, .reject = plan->reject};
    report.accept = plan->accept;
    return report;
}

Status add_curve(AcceptanceReport& report, const AcceptanceOptions& options) {
    if (options.nonconforming_counts) {
        if (!report.lot)
            return usage_error("nonconforming_counts", "no lot to count in", "add `lot`");
        const auto counts = counts_of(*options.nonconforming_counts, *report.lot);
        if (!counts)
            return counts.error();
        for (const std::int64_t count : *counts)
            report.curve.push_back(batch::quality_point_of_lot(report.numbers, *report.lot, count));
        return Done{};
    }
    std::vector<double> shares = curve_shares(report.numbers);
    if (options.at) {
        const auto asked = shares_of("at", *options.at);
        if (!asked)
            return asked.error();
        shares = *asked;
    }
    report.curve = quality_curve(report.numbers, shares, report.lot);
    return Done{};
}

} // namespace

Result<std::vector<double>> shares_of(const std::string& option, const std::string& text) {
    std::vector<double> shares;
    for (const auto field : split(text, ',')) {
        const auto share = parse_double(trim(field));
        if (!share || *share < 0.0 || *share > 1.0)
            return usage_error(option, fmt::format("'{}' is no share", field),
                               "give numbers from 0 to 1 with commas between: 0.05,0.10");
        shares.push_back(*share);
    }
    return shares;
}

Result<std::optional<Pace>> pace_of(const PaceOptions& options) {
    if (!options.speed_mps && !options.spacing_mm)
        return std::optional<Pace>{};
    if (!options.speed_mps || !options.spacing_mm)
        return usage_error("plan", "minutes need both speed and spacing",
                           "give `speed_mps` and `spacing_mm` together");
    if (!(*options.speed_mps > 0.0) || !(*options.spacing_mm > 0.0))
        return usage_error("plan", "speed or spacing is not above 0",
                           "give metres a second and millimetres");
    return std::optional{Pace{*options.speed_mps, *options.spacing_mm}};
}

Result<SequentialReport> sequential_report(const SequentialOptions& options) {
    const auto pace = pace_of(options.pace);
    const auto plan = sequential_plan(options.points);
    if (auto error = first_error(pace, plan))
        return *std::move(error);
    if (options.maximum && *options.maximum < 1)
        return usage_error("maximum", fmt::format("{} drops", *options.maximum),
                           "give at least one drop");
    std::vector<Share> extra;
    if (options.at) {
        const auto asked = shares_of("at", *options.at);
        if (!asked)
            return asked.error();
        for (const double share : *asked)
            extra.emplace_back(share);
    }
    const auto curve = operating_curve(*plan, options.maximum, extra);
    const auto fixed = fixed_plan(options.points);
    if (auto error = first_error(curve, fixed))
        return *std::move(error);
    const auto shorter = [](const OperatingPoint& a, const OperatingPoint& b) {
        return a.mean_entries < b.mean_entries;
    };
    const std::int64_t last =
        std::clamp(options.maximum.value_or(3 * fixed->n), shortest_table, longest_table);
    return SequentialReport{
        .plan = *plan,
        .maximum = options.maximum,
        .table = decision_table(*plan, last),
        .curve = *curve,
        .at_good = operating_point(*plan, Share{options.points.good}, options.maximum),
        .at_bad = operating_point(*plan, Share{options.points.bad}, options.maximum),
        .longest = *std::max_element(curve->begin(), curve->end(), shorter),
        .fixed = *fixed,
        .pace = *pace};
}

Result<FixedReport> fixed_report(const FixedOptions& options) {
    const auto pace = pace_of(options.pace);
    const auto plan =
        options.lot ? fixed_plan_of_lot(options.points, *options.lot) : fixed_plan(options.points);
    if (auto error = first_error(pace, plan))
        return *std::move(error);
    const batch::SampleNumbers numbers{.n = plan->n, .reject = plan->accept + 1};
    FixedReport report{.points = options.points,
                       .plan = *plan,
                       .lot = options.lot,
                       .at_good = batch::quality_point(numbers, options.points.good, std::nullopt),
                       .at_bad = batch::quality_point(numbers, options.points.bad, std::nullopt),
                       .curve = quality_curve(numbers, curve_shares(numbers), options.lot),
                       .pace = *pace};
    if (options.lot) {
        const double size = static_cast<double>(*options.lot);
        const auto good = static_cast<std::int64_t>(std::floor(options.points.good * size + 1e-9));
        const auto bad = static_cast<std::int64_t>(std::ceil(options.points.bad * size - 1e-9));
        report.at_good = batch::quality_point_of_lot(numbers, *options.lot, good);
        report.at_bad = batch::quality_point_of_lot(numbers, *options.lot, bad);
    }
    return report;
}

Result<IntervalReport> interval_report(const IntervalOptions& options) {
    const auto pace = pace_of(options.pace);
    if (!pace)
        return pace.error();
    if (options.n < 1 || options.n > 1'000'000'000 || options.of < 0 || options.of > options.n)
        return usage_error("plan interval", fmt::format("{} of {}", options.of, options.n),
                           "`of` counts the hits among `n` drops: 0 to n");
    if (!(options.confidence > 0.0 && options.confidence < 1.0))
        return usage_error("confidence", fmt::format("{}", options.confidence),
                           "give a level between 0 and 1: 0.95");
    if (options.limit && !(*options.limit > 0.0 && *options.limit < 1.0))
        return usage_error("limit", fmt::format("{}", *options.limit),
                           "give a share between 0 and 1: 0.05");
    const Confidence confidence{options.confidence};
    IntervalReport report{.of = options.of,
                          .n = options.n,
                          .confidence = options.confidence,
                          .clopper_pearson = clopper_pearson(options.of, options.n, confidence),
                          .wilson = wilson(options.of, options.n, confidence),
                          .jeffreys = jeffreys(options.of, options.n, confidence),
                          .mid_p = mid_p(options.of, options.n, confidence),
                          .later = {},
                          .limit = options.limit,
                          .more = std::nullopt,
                          .cap = most_more,
                          .pace = *pace};
    for (const std::int64_t times : {2, 3, 5, 7, 10, 15, 20})
        report.later.push_back({times * options.n, clopper_pearson(times * options.of,
                                                                   times * options.n, confidence)});
    if (options.limit)
        report.more = more_needed(ShareSeen{options.of, options.n, 1.0}, Share{*options.limit},
                                  confidence, most_more);
    return report;
}

Result<AcceptanceReport> acceptance_report(const AcceptanceOptions& options) {
    if (options.n.has_value() == options.aql.has_value())
        return usage_error("plan acceptance", "either a plan of the tables or one of your own",
                           "give `lot` and `aql`, or `n` and `accept`");
    auto report = options.n ? plan_by_hand(options) : plan_by_table(options);
    if (!report)
        return report;
    if (options.lot && (*options.lot < report->numbers.n || *options.lot > 1'000'000'000))
        return usage_error(
            "lot", fmt::format("a lot of {} for a sample of {}", *options.lot, report->numbers.n),
            "the sample comes out of the lot");
    report->lot = options.lot;
    if (report->lot)
        report->outgoing_limit =
            batch::outgoing_quality_limit_of_lot(report->numbers, *report->lot);
    const Status drawn = add_curve(*report, options);
    if (!drawn)
        return drawn.error();
    return report;
}

namespace {

Result<DoubleReport> found_double(const DoubleOptions& options) {
    if (options.plan.n1 != 0 || options.plan.n2 != 0)
        return usage_error(
            "plan double", "a plan of your own and two levels to find one for",
            "give `good` and `bad`, or `n1`, `accept1`, `reject1`, `n2` and `accept2`");
    const TwoPoint points{options.good.value_or(0.0), options.bad.value_or(0.0), options.alpha,
                          options.beta};
    const auto found =
        batch::smallest_double_plan({.points = points, .ratio = options.ratio, .lot = options.lot});
    if (!found)
        return found.error();
    const auto single = options.lot ? fixed_plan_of_lot(points, *options.lot) : fixed_plan(points);
    if (!single)
        return single.error();
    return DoubleReport{.plan = found->plan,
                        .found = FoundDouble{points, found->at_good, found->at_bad, *single},
                        .lot = options.lot,
                        .curve = {}};
}

Result<DoubleReport> given_double(const DoubleOptions& options) {
    if (options.plan.n1 == 0 && options.plan.n2 == 0)
        return usage_error(
            "plan double", "neither two levels nor a plan",
            "give `good` and `bad`, or `n1`, `accept1`, `reject1`, `n2` and `accept2`");
    const auto plan = batch::checked(options.plan);
    if (!plan)
        return plan.error();
    if (options.lot && (*options.lot < plan->n1 + plan->n2 || *options.lot > 1'000'000'000))
        return usage_error("lot", fmt::format("a lot of {}", *options.lot),
                           "both samples come out of the lot");
    return DoubleReport{.plan = *plan, .found = {}, .lot = options.lot, .curve = {}};
}

} // namespace

Result<DoubleReport> double_report(const DoubleOptions& options) {
    auto report = options.good || options.bad ? found_double(options) : given_double(options);
    if (!report)
        return report;
    const batch::DoublePlan& plan = report->plan;
    // Where the first sample alone hardly ever accepts, the second has nothing left to decide.
    std::vector<double> shares = curve_shares({.n = plan.n1, .reject = plan.accept1 + 1});
    if (options.at) {
        const auto asked = shares_of("at", *options.at);
        if (!asked)
            return asked.error();
        shares = *asked;
    }
    if (options.lot)
        for (const std::int64_t count : nearest_counts(shares, *options.lot))
            report->curve.push_back(batch::double_point_of_lot(plan, *options.lot, count));
    else
        for (const double share : shares)
            report->curve.push_back(batch::double_point(plan, share));
    return report;
}

} // namespace dropledger::planning
