#include "analysis/verdict/stopped_share.hpp"

#include "analysis/statistics/stopping/monitored_share.hpp"
#include "analysis/statistics/stopping/sequential_curve.hpp"

#include <algorithm>

namespace dropledger::verdict {

using measures::SequentialPath;
using statistics::Decision;
using statistics::Estimate;
using statistics::SequentialPlan;

namespace {

// Some seconds' work; a plan that needs more was not made for a bench.
bool is_affordable(const SequentialPath& path, const SequentialPlan& plan) {
    constexpr double most_steps = 5e6;
    const double width = plan.h_accept + plan.h_reject + 10.0;
    return static_cast<double>(path.decided_after()) * width <= most_steps;
}

// Wald's test may decide at any drop, so the first is earlier.
constexpr std::int64_t first_of_wald = 10;

Estimate after_wald(const SequentialPath& path, const SequentialPlan& plan, bool ended_run,
                    Confidence confidence) {
    auto estimate = *statistics::monitored_share(
        ended_run ? path.rows_then() : path.rows(),
        {.first = first_of_wald, .most = std::max(path.maximum(), path.entries())}, confidence);
    if (!ended_run || !is_affordable(path, plan))
        return estimate;
    const statistics::SequentialStop stop{path.decision(), path.decided_after(), path.hits_then(),
                                          path.maximum()};
    const auto ordered = statistics::interval_after_stop(plan, stop, confidence);
    estimate.interval = statistics::Interval{std::min(estimate.interval->low, ordered.low),
                                             std::max(estimate.interval->high, ordered.high)};
    estimate.method += ", no narrower than exact over the sequential test's stopping points";
    return estimate;
}

} // namespace

std::vector<bool> ended_the_run(const std::vector<const SequentialPath*>& tests,
                                std::int64_t least) {
    std::int64_t last = 0;
    bool all_ended = true;
    bool all_good = true;
    for (const SequentialPath* test : tests) {
        last = std::max(last, test->decided_after());
        all_ended = all_ended && test->decision() != Decision::go_on;
        all_good = all_good && test->decision() == Decision::accept;
    }
    const bool by_tests = all_ended && (last >= least || !all_good);
    std::vector<bool> ended;
    ended.reserve(tests.size());
    for (const SequentialPath* test : tests)
        ended.push_back(by_tests && test->decided_after() == last);
    return ended;
}

std::optional<Estimate> stopped_share(const SequentialPath& path, bool ended_run,
                                      Confidence confidence) {
    if (path.entries() == 0)
        return std::nullopt;
    if (const auto* const wald = std::get_if<SequentialPlan>(&path.plan()))
        return after_wald(path, *wald, ended_run, confidence);
    const bool decided = path.decision() == Decision::accept || path.decision() == Decision::reject;
    return statistics::monitored_share(decided ? path.rows_then() : path.rows(),
                                       path.limit_plan()->monitoring, confidence);
}

} // namespace dropledger::verdict
