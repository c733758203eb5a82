// Notation: a chance that a row of misses starts, q that it goes on; M misses per interval, a row
// counted as three at most.
#include "tests/analysis/audit/stopped_index.hpp"

#include "analysis/audit/stopped_run.hpp"

#include "analysis/measures/channel_tally.hpp"

#include <random>
#include <utility>

namespace dropledger::testing {

namespace {

using audit::AuditReport;
using audit::ChannelReport;
using statistics::Decision;
using statistics::Estimate;

constexpr std::int64_t spacing_um = 180'000;
const Confidence ninety_five{0.95};
const statistics::LimitPlan plan{.limit = 0.05, .least = 250};

struct Chain {
    double start = 0.0;
    double stay = 0.0;
};

Chain chain_of(const StoppedRuns& how) {
    if (how.row_length <= 1.0)
        return {how.share, how.share};
    return {how.share / (1.0 - how.share) / how.row_length, 1.0 - 1.0 / how.row_length};
}

double index_of(const Chain& chain) {
    const double misses = chain.start * (1.0 + chain.stay + chain.stay * chain.stay);
    return misses / (1.0 + misses);
}

measures::ChannelTally run(const StoppedRuns& how, std::mt19937_64& random) {
    const auto chance = [&](double p) {
        return std::uniform_real_distribution<double>{}(random) < p;
    };
    measures::ChannelTally tally{{.mode = ledger::Mode::single,
                                  .spacing_um = spacing_um,
                                  .miss_plan = plan,
                                  .most_drops = plan.monitoring.most}};
    const Chain chain = chain_of(how);
    bool missed = chance(how.share);
    for (std::uint32_t drop = 0;
         !tally.miss_path() || tally.miss_path()->decision() == Decision::go_on; ++drop) {
        ledger::Entry entry;
        entry.drop.index = drop;
        entry.drop.position_um = drop * spacing_um;
        entry.seeds = missed ? 0 : 1;
        const ledger::Landing landing{.position_um = entry.drop.position_um};
        if (!missed) {
            tally.landed(landing);
            tally.assigned(landing, 0);
        }
        tally.entry(entry);
        missed = chance(missed ? chain.stay : chain.start);
    }
    return tally;
}

AuditReport audited(const measures::ChannelTally& tally) {
    AuditReport report;
    report.stopping_rule.miss = plan;
    report.stopping_rule.most = plan.monitoring.most;
    report.stopping_rule.least = plan.least;
    ChannelReport channel;
    audit::SingleDrops single;
    single.shares = tally.entries().single_shares(ninety_five);
    single.drops.miss_test = audit::SequentialResult{*tally.miss_path(), false, std::nullopt};
    single.spacing = tally.spacing()->result(ninety_five);
    audit::allow_for_stop(*tally.spacing(), report.stopping_rule, ninety_five, *single.spacing);
    channel.results = std::move(single);
    report.channels.push_back(std::move(channel));
    audit::replay_stop(report);
    return report;
}

double holds(const std::optional<Estimate>& estimate, double truth) {
    return estimate && estimate->interval && estimate->interval->low <= truth &&
                   truth <= estimate->interval->high
               ? 1.0
               : 0.0;
}

bool agrees(const audit::SingleDrops& channel, Decision decision) {
    constexpr double rounding = 1e-8;
    const auto& index = channel.spacing->iso.misses->interval;
    const auto& share = channel.shares.miss->interval;
    return decision == Decision::accept
               ? std::max(index->high, share->high) <= plan.limit + rounding
               : share->low >= plan.limit - rounding;
}

} // namespace

HeldAfterStop held_after_stop(const StoppedRuns& how) {
    std::mt19937_64 random{how.seed};
    const Chain chain = chain_of(how);
    const double index = index_of(chain);
    HeldAfterStop sum;
    int decided = 0;
    for (int number = 0; number < how.runs; ++number) {
        const AuditReport report = audited(run(how, random));
        const audit::SingleDrops& channel = *report.channels.front().single();
        sum.miss_index += holds(channel.spacing->iso.misses, index);
        sum.quality_of_feed_index += holds(channel.spacing->iso.quality_of_feed, 1.0 - index);
        sum.gaps_per_spacing += holds(channel.spacing->per_spacing.misses, chain.start);
        sum.miss_share += holds(channel.shares.miss, how.share);
        const Decision decision = channel.drops.miss_test->path.decision();
        if (decision != Decision::accept && decision != Decision::reject)
            continue;
        ++decided;
        sum.agreed += agrees(channel, decision) ? 1.0 : 0.0;
    }
    sum.agreed = decided > 0 ? sum.agreed / decided : 1.0;
    for (double* part :
         {&sum.miss_index, &sum.quality_of_feed_index, &sum.gaps_per_spacing, &sum.miss_share})
        *part /= how.runs;
    return sum;
}

} // namespace dropledger::testing
