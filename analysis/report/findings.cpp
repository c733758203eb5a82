#include "analysis/report/findings.hpp"

#include "analysis/statistics/proportion.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::report {

using measures::IndexCounts;
using verdict::Finding;
using verdict::Limit;
using verdict::RunState;
using verdict::ShareCounts;

namespace {

// What the log may be hiding from this channel.
struct Doubt {
    std::int64_t missing_lines = 0; // any of them could have been a pulse
    bool gate_blocked = false;      // the judging gate reported that it was dark
};

Doubt doubt_about(const AuditReport& report, const ChannelReport& channel) {
    Doubt doubt;
    doubt.missing_lines =
        static_cast<std::int64_t>(report.integrity.missing_lines + report.integrity.lost +
                                  report.integrity.lines.out_of_order);
    doubt.gate_blocked =
        std::any_of(report.faults.begin(), report.faults.end(), [&](const ledger::Fault& fault) {
            return fault.code == "gate_blocked" && fault.channel == channel.channel;
        });
    return doubt;
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

std::int64_t spared_misses(const Doubt& doubt, std::int64_t misses) {
    return doubt.gate_blocked ? misses : doubt.missing_lines;
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
    } else {
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
    const auto share = [&](std::int64_t x, double inflation, std::int64_t spared) {
        return share_finding({x, table.drops, inflation}, spared,
                             statistics::share_estimate(x, table.drops, inflation, confidence),
                             confidence);
    };
    const double misses = channel.misses_independence.inflation;
    const double multiples = channel.multiples_independence.inflation;
    if (limit.name == "miss_index")
        return share(table.miss, misses, spared_misses(doubt, table.miss));
    if (limit.name == "multiples_index")
        return share(table.multiple, multiples, doubt.missing_lines);
    if (limit.name == "quality_of_feed_index")
        return share(table.single, std::max(misses, multiples),
                     -spared_misses(doubt, table.miss) - doubt.missing_lines);
    Finding finding;
    finding.why_undefined =
        fmt::format("gate {} sits above the valve and only counts: no places", channel.gate);
    return finding;
}

Finding placement_finding(const Limit& limit, const ChannelReport& channel) {
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
                doubt.gate_blocked
                    ? table.drops
                    : std::min(table.drops, table.exact + doubt.missing_lines),
                table.drops, confidence);
    } else {
        const double inflation = channel.misses_independence.inflation;
        finding = share_finding(
            {table.empty, table.drops, inflation}, spared_misses(doubt, table.empty),
            statistics::share_estimate(table.empty, table.drops, inflation, confidence), confidence);
    }
    return finding;
}

Finding line_finding(const Limit& limit, const ChannelReport& channel) {
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
    return finding;
}

bool is_placement(const Limit& limit) {
    return limit.name == "offset_mm" || limit.name == "p95_abs_mm" ||
           limit.name == "within_allowance";
}

Finding finding_for(const Limit& limit, const AuditReport& report, const ChannelReport& channel) {
    const Doubt doubt = doubt_about(report, channel);
    const Confidence confidence = report.profile.confidence;
    if (channel.mode == ledger::Mode::line)
        return line_finding(limit, channel);
    if (is_placement(limit))
        return placement_finding(limit, channel);
    if (channel.mode == ledger::Mode::portion)
        return portion_finding(limit, channel, doubt, confidence);
    return channel.spacing ? spacing_finding(limit, channel, doubt, confidence)
                           : counted_finding(limit, channel, doubt, confidence);
}

std::string why_incomplete(const droplog::Integrity& integrity) {
    if (integrity.lost > 0)
        return fmt::format("the controller threw {} lines away (LOST)", integrity.lost);
    if (integrity.sequence_gaps > 0)
        return fmt::format("{} lines are missing in {} places", integrity.missing_lines,
                           integrity.sequence_gaps);
    if (integrity.lines.out_of_order > 0)
        return fmt::format("{} lines came out of order", integrity.lines.out_of_order);
    if (integrity.torn_tail)
        return "the log ends in the middle of a line";
    return "the log does not end with @close";
}

} // namespace

RunState run_state(const AuditReport& report, const ChannelReport& channel) {
    RunState state;
    state.drops = channel.table.drops;
    if (channel.line)
        state.drops = channel.line->segments;
    if (report.from_spacings) {
        state.drops = channel.spacing ? channel.spacing->counts.intervals() : 0;
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

void judge_channel(const AuditReport& report, ChannelReport& channel) {
    const RunState state = run_state(report, channel);
    std::vector<verdict::Criterion> criteria;
    for (const Limit& limit : report.profile.limits) {
        if (report.from_spacings && is_placement(limit)) {
            channel.notes.push_back(fmt::format(
                "{} is not judged: a list of spacings has no commanded positions.", limit.name));
            continue;
        }
        criteria.push_back(
            verdict::judge(limit, finding_for(limit, report, channel), report.profile, state));
    }
    channel.judgement = verdict::judgement(std::move(criteria), state);
}

} // namespace dropledger::report
