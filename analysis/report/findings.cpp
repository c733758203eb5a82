#include "analysis/report/findings.hpp"

#include "analysis/report/corrected_findings.hpp"
#include "analysis/report/doubt.hpp"
#include "analysis/report/stopped_run.hpp"
#include "analysis/report/wording.hpp"
#include "analysis/statistics/proportion.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::report {

using measures::IndexCounts;
using statistics::Interval;
using verdict::Finding;
using verdict::Limit;
using verdict::RunState;
using verdict::ShareCounts;

namespace {

// A gate that saw nothing in a whole run may be dead: whether the unit was empty can't be told from
// it.
bool gate_is_silent(const ChannelReport& channel) {
    return channel.pulses == 0;
}

// The interval if `spared` of the x counted against the unit had been the log's fault.
Finding share_finding(ShareCounts counts, std::int64_t spared,
                      const std::optional<statistics::Estimate>& estimate, Confidence confidence) {
    Finding finding;
    finding.estimate = estimate;
    finding.observations = counts.n;
    finding.counts = counts;
    if (spared != 0 && counts.n > 0)
        finding.at_best = statistics::clopper_pearson_inflated(
            std::clamp<std::int64_t>(counts.x - spared, 0, counts.n), counts.n, counts.inflation,
            confidence);
    return finding;
}

Finding spacing_finding(const Limit& limit, const ChannelReport& channel, const Doubt& doubt,
                        Confidence confidence) {
    const measures::SpacingResult& spacing = *channel.spacing;
    const IndexCounts& counts = spacing.counts;
    const std::int64_t n = counts.intervals();
    const double misses = spacing.misses_independence.inflation;
    const double multiples = spacing.multiples_independence.inflation;
    Finding finding;
    if (limit.name == "precision") {
        finding.estimate = spacing.precision;
        finding.observations = counts.classes[1];
    } else if (limit.name == "miss_index") {
        finding = share_finding({counts.misses(), n, misses}, spared_misses(doubt, counts.misses()),
                                spacing.iso.misses, confidence);
    } else if (limit.name == "multiples_index") {
        finding = share_finding({counts.multiples(), n, multiples}, doubt.missing_lines,
                                spacing.iso.multiples, confidence);
    } else if (limit.name == "quality_of_feed_index" && counts.defined()) {
        finding = share_finding({counts.singles(), n, std::max(misses, multiples)},
                                -spared_misses(doubt, counts.misses()) - doubt.missing_lines,
                                spacing.iso.quality_of_feed, confidence);
    }
    if (!finding.estimate && !spacing.notes.empty())
        finding.why_undefined = spacing.notes.front();
    return finding;
}

// A gate that only counts still tells misses and multiples, per commanded drop.
Finding counted_finding(const Limit& limit, const ChannelReport& channel, const Doubt& doubt,
                        Confidence confidence) {
    const measures::LedgerTable& table = channel.table;
    const auto share = [&](std::int64_t x, double inflation, std::int64_t spared,
                           const std::optional<statistics::Estimate>& estimate) {
        return share_finding({x, table.drops, inflation}, spared, estimate, confidence);
    };
    const double misses = channel.misses_independence.inflation;
    const double multiples = channel.multiples_independence.inflation;
    if (limit.name == "miss_index")
        return share(table.miss, misses, spared_misses(doubt, table.miss), channel.shares.miss);
    if (limit.name == "multiples_index")
        return share(table.multiple, multiples, doubt.missing_lines, channel.shares.multiple);
    if (limit.name == "quality_of_feed_index")
        return share(table.single, std::max(misses, multiples),
                     -spared_misses(doubt, table.miss) - doubt.missing_lines,
                     channel.shares.single);
    Finding finding;
    finding.why_undefined =
        fmt::format("gate {} sits above the valve and only counts: no places", channel.gate);
    return finding;
}

// Missing lines touch few places each, but which is not known (a lost travel line moves several):
// while they are fewer than this share of the drops, median and 95th percentile stand.
constexpr double missing_places_allowed = 0.01;

Finding placement_finding(const Limit& limit, const ChannelReport& channel, const Doubt& doubt) {
    Finding finding;
    const std::int64_t landed = channel.table.drops - channel.table.miss - channel.table.empty;
    finding.observations = landed;
    if (!channel.placement) {
        finding.why_undefined =
            fmt::format("gate {} sits above the valve and only counts: no places", channel.gate);
    } else if (limit.name == "offset_mm") {
        finding.estimate = channel.placement->offset_mm;
    } else if (limit.name == "p95_abs_mm") {
        finding.estimate = channel.placement->p95_abs_mm;
    } else {
        finding.estimate = channel.placement->within_allowance;
        if (!finding.estimate)
            finding.why_undefined = "the profile states no allowance_mm";
    }
    if (static_cast<double>(doubt.missing_lines) >
        missing_places_allowed * static_cast<double>(landed))
        finding.at_best =
            limit.sense == verdict::Sense::at_least ? Interval{1.0, 1.0} : Interval{0.0, 0.0};
    return finding;
}

Finding portion_finding(const Limit& limit, const ChannelReport& channel, const Doubt& doubt,
                        Confidence confidence) {
    const measures::LedgerTable& table = channel.table;
    Finding finding;
    finding.observations = table.drops;
    if (!channel.portion) {
        finding.why_undefined = "no portion was commanded";
    } else if (limit.name == "spread_mm") {
        finding.estimate = channel.portion->spread_mm;
    } else if (limit.name == "exact_share") {
        finding.estimate = channel.portion->exact_share;
        if (doubt.missing_lines > 0 || doubt.gate_blocked)
            finding.at_best = statistics::clopper_pearson(
                doubt.gate_blocked ? table.drops
                                   : std::min(table.drops, table.exact + doubt.missing_lines),
                table.drops, confidence);
    } else {
        const double inflation = channel.misses_independence.inflation;
        finding =
            share_finding({table.empty, table.drops, inflation}, spared_misses(doubt, table.empty),
                          channel.shares.empty, confidence);
    }
    return finding;
}

Finding line_finding(const Limit& limit, const ChannelReport& channel, const Doubt& doubt) {
    Finding finding;
    if (!channel.line)
        return finding;
    finding.observations = channel.line->segments;
    if (limit.name == "cv")
        finding.estimate = channel.line->cv;
    else if (limit.name == "dispersion_index")
        finding.estimate = channel.line->dispersion_index;
    else
        finding.estimate = channel.line->rate_error;
    if (!finding.estimate && limit.name == "rate_error")
        finding.why_undefined = "the log states no target (rate_per_m_milli)";
    if (doubt.any() && finding.estimate && finding.estimate->interval)
        finding.at_best = line_at_best(limit, *channel.line, *finding.estimate->interval, doubt);
    return finding;
}

bool is_placement(const Limit& limit) {
    return limit.name == "offset_mm" || limit.name == "p95_abs_mm" ||
           limit.name == "within_allowance";
}

Finding finding_for(const Limit& limit, const AuditReport& report, const ChannelReport& channel) {
    const Doubt doubt = doubt_about(report, channel);
    const Confidence confidence = report.profile.confidence;
    if (auto corrected = corrected_finding(limit, report, channel))
        return *std::move(corrected);
    if (channel.mode == ledger::Mode::line)
        return line_finding(limit, channel, doubt);
    if (is_placement(limit))
        return placement_finding(limit, channel, doubt);
    if (channel.mode == ledger::Mode::portion)
        return portion_finding(limit, channel, doubt, confidence);
    return channel.spacing ? spacing_finding(limit, channel, doubt, confidence)
                           : counted_finding(limit, channel, doubt, confidence);
}

std::string why_incomplete(const droplog::Integrity& integrity) {
    if (integrity.lost > 0)
        return fmt::format("the controller threw {} away (LOST)", counted(integrity.lost, "line"));
    if (integrity.sequence_gaps > 0)
        return fmt::format("{} missing in {}", counted(integrity.missing_lines, "line"),
                           counted(integrity.sequence_gaps, "place"));
    if (integrity.lines.out_of_order > 0)
        return fmt::format("{} came out of order", counted(integrity.lines.out_of_order, "line"));
    if (integrity.torn_tail)
        return "the log ends in the middle of a line";
    return "the log does not end with @close";
}

} // namespace

RunState run_state(const AuditReport& report, const ChannelReport& channel) {
    RunState state;
    state.drops = channel.table.drops;
    if (channel.line) {
        state.drops = channel.line->segments;
        state.unit = "segments";
    }
    if (report.from_spacings) {
        state.drops = channel.spacing ? channel.spacing->counts.intervals() : 0;
        state.unit = "spacings";
        return state;
    }
    if (!report.integrity.complete()) {
        state.complete = false;
        state.why_incomplete = why_incomplete(report.integrity);
    } else if (doubt_about(report, channel).gate_blocked) {
        state.complete = false;
        state.why_incomplete = "a gate of this channel reported that it was blocked";
    }
    return state;
}

namespace {

// The spacing index counts a gap of four and more misses as three, and none before the first or
// after the last landing. What the ledger alone shows to be beyond the limit must not pass for
// that.
void judge_ledger_misses(const AuditReport& report, const ChannelReport& channel,
                         const RunState& state, verdict::Criterion& criterion) {
    if (criterion.outcome == verdict::Outcome::outside || !channel.has_ledger || !channel.spacing ||
        gate_is_silent(channel) || channel.sensor.judges_corrected)
        return;
    const Finding finding = counted_finding(criterion.limit, channel, doubt_about(report, channel),
                                            report.profile.confidence);
    const verdict::Criterion by_ledger =
        verdict::judge(criterion.limit, finding, report.profile, state);
    if (by_ledger.outcome == verdict::Outcome::undecided &&
        criterion.outcome == verdict::Outcome::within) {
        criterion.outcome = by_ledger.outcome;
        criterion.reason = fmt::format("the spacing index is inside the limit, the share of "
                                       "commanded drops is not: {}",
                                       by_ledger.reason);
    }
    if (by_ledger.outcome != verdict::Outcome::outside)
        return;
    criterion.outcome = by_ledger.outcome;
    criterion.more_drops = 0;
    criterion.reason =
        fmt::format("{} of {} commanded drops had no seed, which is beyond the limit; the spacing "
                    "index does not "
                    "show it (long gaps, or drops before the first or after the last landing)",
                    channel.table.miss, channel.table.drops);
}

Finding finding_after_stop(const Limit& limit, const AuditReport& report,
                           const ChannelReport& channel) {
    Finding finding = finding_for(limit, report, channel);
    if (channel.sensor.judges_corrected && channel.sensor.correction(limit.name) != nullptr)
        return finding; // the stop is in its counts already
    if (limit.name == "miss_index" || limit.name == "empty_share")
        finding.estimate = after_stop(finding.estimate, channel.miss_test);
    else if (limit.name == "multiples_index")
        finding.estimate = after_stop(finding.estimate, channel.multiples_test);
    return finding;
}

verdict::Judgement judgement_of(const AuditReport& report, const ChannelReport& channel) {
    const RunState state = run_state(report, channel);
    std::vector<verdict::Criterion> criteria;
    for (const Limit& limit : report.profile.limits) {
        if (report.from_spacings && is_placement(limit))
            continue;
        criteria.push_back(verdict::judge(limit, finding_after_stop(limit, report, channel),
                                          report.profile, state));
        if (limit.name == "miss_index")
            judge_ledger_misses(report, channel, state, criteria.back());
        explain_undecided(channel, criteria.back());
    }
    return verdict::judgement(std::move(criteria), state);
}

} // namespace

void judge_channel(const AuditReport& report, ChannelReport& channel) {
    if (channel.sensor.judges_corrected) {
        channel.sensor.judges_corrected = false;
        channel.sensor.outcome_as_seen = judgement_of(report, channel).outcome;
        channel.sensor.judges_corrected = true;
    }
    channel.judgement = judgement_of(report, channel);
    if (!report.from_spacings)
        return;
    for (const Limit& limit : report.profile.limits)
        if (is_placement(limit))
            channel.notes.push_back(fmt::format(
                "{} is not judged: a list of spacings has no commanded positions.", limit.name));
}

} // namespace dropledger::report
