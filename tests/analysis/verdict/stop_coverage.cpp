#include "tests/analysis/verdict/stop_coverage.hpp"

#include "analysis/statistics/proportion.hpp"
#include "analysis/verdict/stopped_share.hpp"

#include <algorithm>
#include <map>
#include <random>
#include <tuple>
#include <vector>

namespace dropledger::verdict::coverage {

namespace {

using measures::SequentialPath;
using statistics::Decision;
using statistics::Interval;

constexpr Confidence confidence{0.95};

bool holds(const Interval& interval, double p) {
    return interval.low <= p && p <= interval.high;
}

bool is_decided(const SequentialPath& path) {
    return path.decision() == Decision::accept || path.decision() == Decision::reject;
}

bool is_good(const SequentialPath& path) {
    return path.decision() == Decision::accept;
}

// Outcomes come back often; their intervals are made once.
class Intervals {
public:
    const Interval& after_stop(const SequentialPath& path) {
        const auto key = std::tuple(path.decision(), path.decided_after(), path.hits_then());
        const auto found = known_.find(key);
        if (found != known_.end())
            return found->second;
        return known_[key] = *stopped_share(path, true, confidence)->interval;
    }

private:
    std::map<std::tuple<Decision, std::int64_t, std::int64_t>, Interval> known_;
};

// Misses and multiples in turn, channel by channel, until all are decided or at the maximum.
std::vector<SequentialPath> run(const Situation& s, std::mt19937_64& random) {
    const auto plan = *statistics::sequential_plan(s.points);
    std::vector<SequentialPath> paths(static_cast<std::size_t>(2 * s.channels), {plan, s.most});
    std::uniform_real_distribution<double> uniform;
    for (std::int64_t n = 0; n < s.most; ++n) {
        for (std::size_t i = 0; i < paths.size(); i += 2) {
            const double u = uniform(random);
            paths[i].add(u < s.miss);
            paths[i + 1].add(u >= 1.0 - s.multiples);
        }
        if (std::all_of(paths.begin(), paths.end(), is_decided) &&
            (n + 1 >= s.least || !std::all_of(paths.begin(), paths.end(), is_good)))
            break;
    }
    return paths;
}

} // namespace

Covered stop_coverage(const Situation& situation, int runs, std::uint64_t seed) {
    std::mt19937_64 random{seed};
    Intervals intervals;
    Covered sum;
    for (int i = 0; i < runs; ++i) {
        const auto paths = run(situation, random);
        std::vector<const SequentialPath*> tests;
        for (const SequentialPath& path : paths)
            tests.push_back(&path);
        const SequentialPath& miss = paths.front();
        const bool own = ended_the_run(tests, situation.least).front();
        const bool after = holds(intervals.after_stop(miss), situation.miss);
        const bool plain = holds(
            statistics::clopper_pearson(miss.hits(), miss.entries(), confidence), situation.miss);
        sum.after_stop += after ? 1 : 0;
        sum.plain += plain ? 1 : 0;
        sum.reported += (own ? after : plain) ? 1 : 0;
        sum.own_end += own ? 1 : 0;
        sum.mean_drops += static_cast<double>(miss.entries());
    }
    for (double* part : {&sum.reported, &sum.after_stop, &sum.plain, &sum.own_end, &sum.mean_drops})
        *part /= runs;
    return sum;
}

} // namespace dropledger::verdict::coverage
