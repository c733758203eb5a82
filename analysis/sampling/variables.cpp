#include "analysis/sampling/variables.hpp"

#include "analysis/base/enum_names.hpp"
#include "analysis/statistics/basics/moments.hpp"
#include "analysis/statistics/shares/proportion.hpp"
#include "analysis/statistics/values/tolerance.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <vector>

namespace dropledger::batch {

namespace {

using namespace dropledger::statistics;

constexpr double normality_level = 0.05;

Status check(std::span<const double> values, const VariablesRequest& request) {
    const Specification& limits = request.limits;
    if (!limits.lower && !limits.upper)
        return usage_error("batch variables", "no limit", "give `lower`, `upper` or both");
    if (limits.lower && limits.upper && *limits.lower >= *limits.upper)
        return usage_error("batch variables",
                           fmt::format("limits {} to {}", *limits.lower, *limits.upper),
                           "`lower` is below `upper`");
    if (request.content.value() <= 0.0 || request.content.value() >= 1.0)
        return usage_error("content",
                           fmt::format("{} is no share of units", request.content.value()),
                           "give a share between 0 and 1: 0.95");
    if (values.size() < 2)
        return input_error("", fmt::format("{} value", values.size()),
                           "a spread needs at least two units");
    return Done{};
}

bool inside(double value, const Specification& limits) {
    return (!limits.lower || value >= *limits.lower) && (!limits.upper || value <= *limits.upper);
}

ToleranceRequest tolerance_of(const VariablesResult& result, const VariablesRequest& request) {
    return {.n = result.n, .content = request.content, .confidence = request.confidence};
}

std::optional<ToleranceInterval> normal_interval(const VariablesResult& result,
                                                 const VariablesRequest& request) {
    if (!result.sd || *result.sd <= 0.0)
        return std::nullopt;
    const bool both = request.limits.lower && request.limits.upper;
    const auto asked = tolerance_of(result, request);
    const double k = both ? two_sided_factor(asked) : one_sided_factor(asked);
    ToleranceInterval interval;
    interval.factor = k;
    interval.method =
        both ? "normal values, two-sided, exact" : "normal values, one-sided, noncentral t";
    if (request.limits.lower)
        interval.lower = result.mean - k * *result.sd;
    if (request.limits.upper)
        interval.upper = result.mean + k * *result.sd;
    return interval;
}

std::optional<ToleranceInterval> ordered_interval(std::span<const double> sorted,
                                                  const VariablesResult& result,
                                                  const VariablesRequest& request) {
    const auto at = [&](std::int64_t rank) { return sorted[static_cast<std::size_t>(rank - 1)]; };
    ToleranceInterval interval;
    interval.method = "ordered values, no distribution assumed";
    if (request.limits.lower && request.limits.upper) {
        const auto ranks = tolerance_ranks(tolerance_of(result, request));
        if (!ranks)
            return std::nullopt;
        interval.lower = at(ranks->low);
        interval.upper = at(ranks->high);
        return interval;
    }
    const auto rank = tolerance_rank_one_sided(tolerance_of(result, request));
    if (!rank)
        return std::nullopt;
    if (request.limits.lower)
        interval.lower = at(*rank);
    else
        interval.upper = at(result.n + 1 - *rank);
    return interval;
}

Shape shape_of(const std::optional<AndersonDarling>& test) {
    if (!test)
        return Shape::assumed;
    return test->p < normality_level ? Shape::not_normal : Shape::normal;
}

bool holds(const ToleranceInterval& interval, const Specification& limits) {
    return (!limits.lower || *interval.lower >= *limits.lower) &&
           (!limits.upper || *interval.upper <= *limits.upper);
}

void decide(VariablesResult& result, const VariablesRequest& request) {
    const double content = 100.0 * request.content.value();
    const double sure = 100.0 * request.confidence.level();
    if (result.interval && holds(*result.interval, request.limits)) {
        result.outcome = VariablesOutcome::within;
        result.reason = fmt::format("The range that holds {:g} % of all units with {:g} % "
                                    "confidence lies inside the limits.",
                                    content, sure);
    } else if (result.share_beyond.interval->low > 1.0 - request.content.value()) {
        result.outcome = VariablesOutcome::outside;
        result.reason = fmt::format("{} of {} values lie beyond the limits: more than {:g} % of "
                                    "all units do, with {:g} % confidence.",
                                    result.beyond, result.n, 100.0 - content, sure);
    } else if (!result.interval) {
        result.reason = fmt::format(
            "Too few values for an interval: without a distribution it takes {}, there are {}.",
            result.needed_without_distribution, result.n);
    } else {
        result.reason = fmt::format("The range that holds {:g} % of all units with {:g} % "
                                    "confidence reaches beyond the limits; more units, or less "
                                    "spread, could show otherwise.",
                                    content, sure);
    }
}

void describe(VariablesResult& result, std::span<const double> values,
              const VariablesRequest& request) {
    result.n = static_cast<std::int64_t>(values.size());
    result.mean = *mean(values);
    result.sd = sample_sd(values);
    const auto [least, most] = std::minmax_element(values.begin(), values.end());
    result.least = *least;
    result.most = *most;
    result.beyond = std::count_if(values.begin(), values.end(),
                                  [&](double value) { return !inside(value, request.limits); });
    result.share_beyond = {.value =
                               static_cast<double>(result.beyond) / static_cast<double>(result.n),
                           .interval = clopper_pearson(result.beyond, result.n, request.confidence),
                           .confidence = request.confidence,
                           .method = "Clopper-Pearson"};
}

constexpr std::array shape_words{
    EnumName{Shape::normal, "nothing against normal values"},
    EnumName{Shape::not_normal, "not normal"},
    EnumName{Shape::assumed, "assumed normal, too few values to test"}};
static_assert(names_all<shape_words>());

constexpr std::array outcome_words{EnumName{VariablesOutcome::within, "within"},
                                   EnumName{VariablesOutcome::outside, "outside"},
                                   EnumName{VariablesOutcome::undecided, "undecided"}};
static_assert(names_all<outcome_words>());

} // namespace

std::string_view word_of(Shape shape) {
    return row_in(shape_words, shape).key;
}

std::string_view word_of(VariablesOutcome outcome) {
    return row_in(outcome_words, outcome).key;
}

Result<VariablesResult> judge_variables(std::span<const double> values,
                                        const VariablesRequest& request) {
    const Status sound = check(values, request);
    if (!sound)
        return sound.error();
    VariablesResult result;
    describe(result, values, request);
    result.normality = anderson_darling(values);
    result.shape = shape_of(result.normality);
    const ValuesNeeded needed = values_needed(request.content, request.confidence);
    result.needed_without_distribution =
        request.limits.lower && request.limits.upper ? needed.two_sided : needed.one_sided;
    std::vector<double> sorted(values.begin(), values.end());
    std::sort(sorted.begin(), sorted.end());
    const bool by_order = result.shape == Shape::not_normal || *result.sd <= 0.0;
    result.interval =
        by_order ? ordered_interval(sorted, result, request) : normal_interval(result, request);
    if (!by_order)
        result.capability = capability(moments(values), request.limits, request.confidence);
    decide(result, request);
    return result;
}

} // namespace dropledger::batch
