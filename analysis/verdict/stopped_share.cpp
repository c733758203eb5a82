#include "analysis/verdict/stopped_share.hpp"

#include "analysis/statistics/proportion.hpp"
#include "analysis/statistics/sequential_curve.hpp"

#include <algorithm>

namespace dropledger::verdict {

using measures::SequentialPath;
using statistics::Decision;
using statistics::Estimate;

namespace {

// Some seconds' work; a plan that needs more was not made for a bench.
bool is_affordable(const SequentialPath& path) {
    constexpr double most_steps = 5e6;
    const double width = path.plan().h_accept + path.plan().h_reject + 10.0;
    return static_cast<double>(path.decided_after()) * width <= most_steps;
}

Estimate plain(const SequentialPath& path, Confidence confidence, std::string method) {
    return {static_cast<double>(path.hits()) / static_cast<double>(path.entries()),
            statistics::clopper_pearson(path.hits(), path.entries(), confidence), confidence,
            std::move(method)};
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
    if (!ended_run)
        return plain(path, confidence,
                     "Clopper-Pearson; the run did not end at this test's own decision");
    if (!is_affordable(path))
        return plain(path, confidence,
                     "Clopper-Pearson; the interval for the stop would take too long to compute");
    const statistics::SequentialStop stop{path.decision(), path.decided_after(), path.hits_then(),
                                          path.maximum()};
    return Estimate{static_cast<double>(stop.hits) / static_cast<double>(stop.entries),
                    statistics::interval_after_stop(path.plan(), stop, confidence), confidence,
                    "exact over the sequential test's stopping points"};
}

} // namespace dropledger::verdict
