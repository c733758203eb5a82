#include "analysis/audit/judge.hpp"

#include "analysis/audit/corrected_findings.hpp"
#include "analysis/audit/doubt.hpp"
#include "analysis/measures/number_words.hpp"
#include "analysis/statistics/shares/proportion.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::audit {

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

bool is_per_spacing(Quantity quantity) {
    return quantity == Quantity::quality_of_feed || quantity == Quantity::multiples ||
           quantity == Quantity::misses || quantity == Quantity::cp3_reference;
}

// Of the spacings as they are: a gap is one, however many seeds are missed in it.
Finding per_spacing_finding(Quantity quantity, const measures::SpacingResult& spacing,
                            const Doubt& doubt, Confidence confidence) {
    const auto& classes = spacing.counts.classes;
    const std::int64_t n = spacing.counts.spacings();
    const std::int64_t gaps = classes[2] + classes[3] + classes[4];
    const double misses = spacing.misses_independence.inflation;
    const double multiples = spacing.multiples_independence.inflation;
    const std::int64_t spared = spared_misses(doubt, gaps);
    if (quantity == Quantity::misses)
        return share_finding({gaps, n, misses}, spared, spacing.per_spacing.misses, confidence);
    if (quantity == Quantity::multiples)
        return share_finding({classes[0], n, multiples}, doubt.missing_lines,
                             spacing.per_spacing.multiples, confidence);
    const bool cp3 = quantity == Quantity::cp3_reference;
    return share_finding(
        {cp3 ? spacing.cp3_about_reference.inside : classes[1], n, std::max(misses, multiples)},
        -spared - doubt.missing_lines,
        cp3 ? spacing.cp3_about_reference.share : spacing.per_spacing.quality_of_feed, confidence);
}

Finding spacing_finding(const Limit& limit, const ChannelReport& channel, const Doubt& doubt,
                        Confidence confidence) {
    const measures::SpacingResult& spacing = *channel.spacing;
    const IndexCounts& counts = spacing.counts;
    const std::int64_t n = counts.intervals();
    const double misses = spacing.misses_independence.inflation;
    const double multiples = spacing.multiples_independence.inflation;
    Finding finding;
    if (is_per_spacing(limit.quantity)) {
        finding = per_spacing_finding(limit.quantity, spacing, doubt, confidence);
    } else if (limit.quantity == Quantity::precision) {
        finding.estimate = spacing.precision;
        finding.observations = counts.classes[1];
    } else if (limit.quantity == Quantity::miss_index) {
        finding = share_finding({counts.misses(), n, misses}, spared_misses(doubt, counts.misses()),
                                spacing.iso.misses, confidence);
    } else if (limit.quantity == Quantity::multiples_index) {
        finding = share_finding({counts.multiples(), n, multiples}, doubt.missing_lines,
                                spacing.iso.multiples, confidence);
    } else if (limit.quantity == Quantity::quality_of_feed_index && counts.defined()) {
        finding = share_finding({counts.singles(), n, std::max(misses, multiples)},
                                -spared_misses(doubt, counts.misses()) - doubt.missing_lines,
                                spacing.iso.quality_of_feed, confidence);
    }
    if (!finding.estimate && !spacing.notes.empty())
        finding.why_undefined = spacing.notes.front();
    return finding;
}

bool is_of_misses(Quantity quantity) {
    return quantity == Quantity::miss_index || quantity == Quantity::miss_share;
}

bool is_of_multiples(Quantity quantity) {
    return quantity == Quantity::multiples_index || quantity == Quantity::multiple_share;
}

// The ledger's own, whatever lies between the landings.
bool is_per_drop(Quantity quantity) {
    return quantity == Quantity::miss_share || quantity == Quantity::multiple_share;
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
    if (is_of_misses(limit.quantity))
        return share(table.miss, misses, spared_misses(doubt, table.miss), channel.shares.miss);
    if (is_of_multiples(limit.quantity))
        return share(table.multiple, multiples, doubt.missing_lines, channel.shares.multiple);
    if (limit.quantity == Quantity::quality_of_feed_index)
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
    } else if (limit.quantity == Quantity::offset_mm) {
        finding.estimate = channel.placement->offset_mm;
    } else if (limit.quantity == Quantity::p95_abs_mm) {
        finding.estimate = channel.placement->p95_abs_mm;
    } else if (limit.quantity == Quantity::bias_mm) {
        finding.estimate = channel.placement->bias_mm;
    } else if (limit.quantity == Quantity::sd_mm) {
        finding.estimate = channel.placement->sd_mm;
    } else {
        finding.estimate = channel.placement->within_allowance;
        if (!finding.estimate)
            finding.why_undefined = "the profile states no allowance_mm";
    }
    if (static_cast<double>(doubt.missing_lines) >
        missing_places_allowed * static_cast<double>(landed))
        finding.at_best =
            limit.sense() == verdict::Sense::at_least ? Interval{1.0, 1.0} : Interval{0.0, 0.0};
    return finding;
}

Finding portion_finding(const Limit& limit, const ChannelReport& channel, const Doubt& doubt,
                        Confidence confidence) {
    const measures::LedgerTable& table = channel.table;
    Finding finding;
    finding.observations = table.drops;
    if (!channel.portion) {
        finding.why_undefined = "no portion was commanded";
    } else if (limit.quantity == Quantity::spread_mm) {
        finding.estimate = channel.portion->spread_mm;
    } else if (limit.quantity == Quantity::exact_share) {
        finding.estimate = channel.portion->exact_share;
        if (doubt.missing_lines > 0 || doubt.gate_blocked)
            finding.at_best = statistics::clopper_pearson(
                doubt.gate_blocked ? table.drops
                                   : std::min(table.drops, table.exact + doubt.missing_lines),
                table.drops, confidence);
    } else if (limit.quantity == Quantity::short_share) {
        finding =
            share_finding({table.shorted, table.drops, 1.0}, spared_misses(doubt, table.shorted),
                          channel.shares.shorted, confidence);
    } else if (limit.quantity == Quantity::over_share) {
        finding = share_finding({table.over, table.drops, channel.multiples_independence.inflation},
                                doubt.missing_lines, channel.shares.over, confidence);
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
    if (limit.quantity == Quantity::cv)
        finding.estimate = channel.line->cv;
    else if (limit.quantity == Quantity::dispersion_index)
        finding.estimate = channel.line->dispersion_index;
    else
        finding.estimate = channel.line->rate_error;
    if (!finding.estimate && limit.quantity == Quantity::rate_error)
        finding.why_undefined = "the log states no target (rate_per_m_milli)";
    if (doubt.any() && finding.estimate && finding.estimate->interval)
        finding.at_best = line_at_best(limit, *channel.line, *finding.estimate->interval, doubt);
    return finding;
}

// A gate that overlooks seeds makes two spacings one: which ones is not known.
Finding not_correctable(const ChannelReport& channel) {
    Finding finding;
    finding.why_undefined = fmt::format(
        "gate {} overlooks seeds, and those can't be put back into the spacings", channel.gate);
    return finding;
}

Finding silent(const ChannelReport& channel) {
    Finding finding;
    finding.why_undefined =
        fmt::format("gate {} saw nothing at all: whether the unit dropped nothing or the gate is "
                    "blind can't be told by it",
                    channel.gate);
    return finding;
}

// The numbers on which a judgement rests: those that the gate saw, or with its own misses taken out.
enum class Basis { as_seen, corrected };

Finding finding_for(const Limit& limit, const AuditReport& report, const ChannelReport& channel,
                    Basis basis) {
    const Doubt doubt = doubt_about(report, channel);
    const Confidence confidence = report.profile.confidence;
    if (gate_is_silent(channel) && channel.has_ledger)
        return silent(channel);
    if (basis == Basis::corrected) {
        if (auto corrected = corrected_finding(limit, report, channel))
            return *std::move(corrected);
        if (is_per_spacing(limit.quantity))
            return not_correctable(channel);
    }
    if (channel.mode == ledger::Mode::line)
        return line_finding(limit, channel, doubt);
    if (is_placement(limit.quantity))
        return placement_finding(limit, channel, doubt);
    if (channel.mode == ledger::Mode::portion)
        return portion_finding(limit, channel, doubt, confidence);
    return channel.spacing && !is_per_drop(limit.quantity)
               ? spacing_finding(limit, channel, doubt, confidence)
               : counted_finding(limit, channel, doubt, confidence);
}

std::string why_incomplete(const droplog::Integrity& integrity) {
    for (const droplog::FoundFlaw& flaw : integrity.flaws())
        if (droplog::row_of(flaw.flaw).incomplete)
            return droplog::in_words(flaw);
    throw BrokenInvariant("a log is incomplete and nothing is missing");
}

} // namespace

bool is_placement(Quantity quantity) {
    return quantity == Quantity::offset_mm || quantity == Quantity::bias_mm ||
           quantity == Quantity::sd_mm || quantity == Quantity::p95_abs_mm ||
           quantity == Quantity::within_allowance;
}

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

bool needs_commanded_drops(Quantity quantity) {
    return is_placement(quantity) || is_per_drop(quantity);
}

bool has_ledger_share(Quantity quantity) {
    return quantity == Quantity::miss_index || quantity == Quantity::multiples_index;
}

// By the ledger's own share per commanded drop.
verdict::Criterion judged_by_ledger(const Limit& limit, const AuditReport& report,
                                    const ChannelReport& channel, const RunState& state) {
    return verdict::judge(
        limit,
        counted_finding(limit, channel, doubt_about(report, channel), report.profile.confidence),
        report.profile, state);
}

// The spacing index counts a gap of four and more misses as three, none before the first or after
// the last landing, and is not defined where most spacings are multiples. *Within* needs the index
// and the ledger's share inside; what the ledger alone shows to be beyond the limit is outside; and
// where there is no index the ledger decides.
void judge_ledger_share(const AuditReport& report, const ChannelReport& channel,
                        const RunState& state, verdict::Criterion& criterion) {
    if (criterion.outcome == verdict::Outcome::outside || !channel.has_ledger || !channel.spacing ||
        gate_is_silent(channel))
        return;
    const verdict::Criterion by_ledger = judged_by_ledger(criterion.limit, report, channel, state);
    const bool no_index = !criterion.estimate || !criterion.estimate->interval;
    const bool decides = no_index || by_ledger.outcome == verdict::Outcome::outside ||
                         criterion.outcome == verdict::Outcome::within;
    if (!decides || (!no_index && by_ledger.outcome == verdict::Outcome::within))
        return;
    const bool misses = criterion.limit.quantity == Quantity::miss_index;
    criterion.outcome = by_ledger.outcome;
    criterion.more_drops = by_ledger.more_drops;
    criterion.reason = fmt::format(
        "{} of {} commanded drops had {}: {}; the spacing index {}",
        misses ? channel.table.miss : channel.table.multiple, channel.table.drops,
        misses ? "no seed" : "several seeds", by_ledger.reason,
        no_index ? "is not defined"
                 : "does not show it (long gaps, or drops before the first or after the last "
                   "landing)");
}

verdict::Judgement judgement_of(const AuditReport& report, const ChannelReport& channel,
                                Basis basis) {
    const RunState state = run_state(report, channel);
    std::vector<verdict::Criterion> criteria;
    for (const Limit& limit : report.profile.limits) {
        if (report.from_spacings && needs_commanded_drops(limit.quantity))
            continue;
        criteria.push_back(verdict::judge(limit, finding_for(limit, report, channel, basis),
                                          report.profile, state));
        if (basis == Basis::corrected)
            explain_undecided(channel, criteria.back());
        else if (has_ledger_share(limit.quantity))
            judge_ledger_share(report, channel, state, criteria.back());
    }
    return verdict::judgement(std::move(criteria), state);
}

} // namespace

void judge_channel(const AuditReport& report, ChannelReport& channel) {
    const Basis basis = channel.sensor.judges_corrected ? Basis::corrected : Basis::as_seen;
    channel.judgement = judgement_of(report, channel, basis);
    if (basis == Basis::corrected)
        channel.sensor.outcome_as_seen = judgement_of(report, channel, Basis::as_seen).outcome;
    if (!report.from_spacings)
        return;
    for (const Limit& limit : report.profile.limits)
        if (needs_commanded_drops(limit.quantity))
            channel.notes.push_back(
                fmt::format("{} is not judged: a list of spacings has no commanded positions.",
                            key_of(limit.quantity)));
}

} // namespace dropledger::audit
