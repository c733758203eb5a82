#include "tests/analysis/verdict/stop_coverage.hpp"

#include "analysis/measures/sequential_path.hpp"
#include "analysis/verdict/stopped_share.hpp"

#include <random>

namespace dropledger::verdict::coverage {

namespace {

using measures::SequentialPath;
using statistics::Decision;
using statistics::Interval;

constexpr Confidence confidence{0.95};

// In its steady state from the first drop on.
class Hits {
public:
    Hits(double share, double row_length, std::mt19937_64& random)
        : starts_(share / (1.0 - share) / row_length), stays_(1.0 - 1.0 / row_length),
          share_(share), random_(&random), inside_(chance(share)) {}

    bool next() {
        const bool hit = inside_;
        inside_ = chance(stays_ <= 0.0 ? share_ : inside_ ? stays_ : starts_);
        return hit;
    }

private:
    bool chance(double p) { return std::uniform_real_distribution<double>{}(*random_) < p; }

    double starts_;
    double stays_;
    double share_;
    std::mt19937_64* random_;
    bool inside_;
};

bool holds(const Interval& interval, double p) {
    return interval.low <= p && p <= interval.high;
}

void run(Hits hits, SequentialPath& path) {
    while (path.decision() == Decision::go_on)
        path.add(hits.next());
}

} // namespace

Covered stop_coverage(const Situation& s, int runs, std::uint64_t seed) {
    std::mt19937_64 random{seed};
    Covered sum;
    double decided = 0.0;
    for (int i = 0; i < runs; ++i) {
        SequentialPath path{s.plan, s.plan.monitoring.most};
        run(Hits{s.share, s.row_length, random}, path);
        const Interval seen = *stopped_share(path, true, confidence)->interval;
        const bool good = path.decision() == Decision::accept;
        const bool bad = path.decision() == Decision::reject;
        sum.good += good ? 1 : 0;
        sum.bad += bad ? 1 : 0;
        sum.held += holds(seen, s.share) ? 1 : 0;
        decided += good || bad ? 1 : 0;
        sum.agreed +=
            (good && seen.high <= s.plan.limit + 1e-8) || (bad && seen.low >= s.plan.limit - 1e-8)
                ? 1
                : 0;
        sum.mean_drops += static_cast<double>(path.decided_after());
        sum.stopped_early += 4 * path.decided_after() <= s.plan.monitoring.most ? 1 : 0;
    }
    sum.agreed = decided > 0.0 ? sum.agreed / decided : 1.0;
    for (double* part : {&sum.good, &sum.bad, &sum.held, &sum.mean_drops, &sum.stopped_early})
        *part /= runs;
    return sum;
}

WaldCovered wald_coverage(const WaldSituation& s, int runs, std::uint64_t seed) {
    std::mt19937_64 random{seed};
    const auto plan = *statistics::sequential_plan(s.points);
    WaldCovered sum;
    for (int i = 0; i < runs; ++i) {
        SequentialPath path{plan, s.most};
        run(Hits{s.share, s.row_length, random}, path);
        sum.own_end += path.decision() == Decision::undecided ? 0 : 1;
        sum.reported += holds(*stopped_share(path, true, confidence)->interval, s.share) ? 1 : 0;
    }
    sum.reported /= runs;
    sum.own_end /= runs;
    return sum;
}

} // namespace dropledger::verdict::coverage
