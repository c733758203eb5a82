#include "analysis/audit/judge.hpp"

#include "analysis/audit/changing_share.hpp"
#include "analysis/audit/corrected_findings.hpp"
#include "analysis/audit/doubt/doubt.hpp"
#include "analysis/audit/stopped_run.hpp"
#include "analysis/base/cases.hpp"
#include "analysis/measures/number_words.hpp"
#include "analysis/statistics/shares/proportion.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

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

Finding undefined(std::string why) {
    Finding finding;
    finding.why_undefined = std::move(why);
    return finding;
}

// What is asked of a channel.
struct Asked {
    const Limit& limit;
    int gate = 0;
    Doubt doubt;
    Confidence confidence;
};

std::string no_places(const Asked& asked) {
    return fmt::format("gate {} sits above the valve and only counts: no places", asked.gate);
}

bool is_per_spacing(Quantity quantity) {
    return quantity == Quantity::quality_of_feed || quantity == Quantity::multiples ||
           quantity == Quantity::misses || quantity == Quantity::cp3_reference;
}

// Of the spacings as they are: a gap is one, however many seeds are missed in it.
Finding per_spacing_finding(const Asked& asked, const measures::SpacingResult& spacing) {
    const auto& [limit, gate, doubt, confidence] = asked;
    const auto& classes = spacing.counts.classes;
    const std::int64_t n = spacing.counts.spacings();
    const std::int64_t gaps = classes[2] + classes[3] + classes[4];
    const double misses = spacing.misses_independence.inflation;
    const double multiples = spacing.multiples_independence.inflation;
    const std::int64_t spared = spared_misses(doubt, gaps);
    if (limit.quantity == Quantity::misses)
        return share_finding({gaps, n, misses}, spared, spacing.per_spacing.misses, confidence);
    if (limit.quantity == Quantity::multiples)
        return share_finding({classes[0], n, multiples}, doubt.missing_lines,
                             spacing.per_spacing.multiples, confidence);
    const bool cp3 = limit.quantity == Quantity::cp3_reference;
    return share_finding(
        {cp3 ? spacing.cp3_about_reference.inside : classes[1], n, std::max(misses, multiples)},
        -spared - doubt.missing_lines,
        cp3 ? spacing.cp3_about_reference.share : spacing.per_spacing.quality_of_feed, confidence);
}

Finding spacing_finding(const Asked& asked, const measures::SpacingResult& spacing) {
    const auto& [limit, gate, doubt, confidence] = asked;
    const IndexCounts& counts = spacing.counts;
    const std::int64_t n = counts.intervals();
    const double misses = spacing.misses_independence.inflation;
    const double multiples = spacing.multiples_independence.inflation;
    Finding finding;
    if (is_per_spacing(limit.quantity)) {
        finding = per_spacing_finding(asked, spacing);
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
Finding counted_finding(const Asked& asked, const SingleDrops& single) {
    const Quantity quantity = asked.limit.quantity;
    const Doubt& doubt = asked.doubt;
    const measures::LedgerTable& table = single.drops.table;
    const auto share = [&](std::int64_t x, double inflation, std::int64_t spared,
                           const std::optional<statistics::Estimate>& estimate) {
        return share_finding({x, table.drops, inflation}, spared, estimate, asked.confidence);
    };
    const double misses = single.drops.misses_independence.inflation;
    const double multiples = single.drops.multiples_independence.inflation;
    if (is_of_misses(quantity))
        return share(table.miss, misses, spared_misses(doubt, table.miss), single.shares.miss);
    if (is_of_multiples(quantity))
        return share(table.multiple, multiples, doubt.missing_lines, single.shares.multiple);
    if (quantity == Quantity::quality_of_feed_index)
        return share(table.single, std::max(misses, multiples),
                     -spared_misses(doubt, table.miss) - doubt.missing_lines, single.shares.single);
    return undefined(no_places(asked));
}

// Missing lines touch few places each, but which is not known (a lost travel line moves several):
// while they are fewer than this share of the drops, median and 95th percentile stand.
constexpr double missing_places_allowed = 0.01;

Finding placement_finding(const Asked& asked, const CommandedDrops& drops) {
    const Limit& limit = asked.limit;
    Finding finding;
    const std::int64_t landed = drops.table.drops - drops.table.miss - drops.table.empty;
    finding.observations = landed;
    if (!drops.placement) {
        finding.why_undefined = no_places(asked);
    } else if (limit.quantity == Quantity::offset_mm) {
        finding.estimate = drops.placement->offset_mm;
    } else if (limit.quantity == Quantity::p95_abs_mm) {
        finding.estimate = drops.placement->p95_abs_mm;
    } else if (limit.quantity == Quantity::bias_mm) {
        finding.estimate = drops.placement->bias_mm;
    } else if (limit.quantity == Quantity::sd_mm) {
        finding.estimate = drops.placement->sd_mm;
    } else {
        finding.estimate = drops.placement->within_allowance;
        if (!finding.estimate)
            finding.why_undefined = "the profile states no allowance_mm";
    }
    if (static_cast<double>(asked.doubt.missing_lines) >
        missing_places_allowed * static_cast<double>(landed))
        finding.at_best =
            limit.sense() == verdict::Sense::at_least ? Interval{1.0, 1.0} : Interval{0.0, 0.0};
    return finding;
}

Finding portion_finding(const Asked& asked, const Portions& portions) {
    const auto& [limit, gate, doubt, confidence] = asked;
    const measures::LedgerTable& table = portions.drops.table;
    Finding finding;
    finding.observations = table.drops;
    if (!portions.portion) {
        finding.why_undefined = "no portion was commanded";
    } else if (limit.quantity == Quantity::spread_mm) {
        finding.estimate = portions.portion->spread_mm;
    } else if (limit.quantity == Quantity::exact_share) {
        finding.estimate = portions.portion->exact_share;
        if (doubt.missing_lines > 0 || doubt.gate_blocked)
            finding.at_best = statistics::clopper_pearson(
                doubt.gate_blocked ? table.drops
                                   : std::min(table.drops, table.exact + doubt.missing_lines),
                table.drops, confidence);
    } else if (limit.quantity == Quantity::short_share) {
        finding =
            share_finding({table.shorted, table.drops, 1.0}, spared_misses(doubt, table.shorted),
                          portions.shares.shorted, confidence);
    } else if (limit.quantity == Quantity::over_share) {
        finding = share_finding(
            {table.over, table.drops, portions.drops.multiples_independence.inflation},
            doubt.missing_lines, portions.shares.over, confidence);
    } else {
        const double inflation = portions.drops.misses_independence.inflation;
        finding =
            share_finding({table.empty, table.drops, inflation}, spared_misses(doubt, table.empty),
                          portions.shares.empty, confidence);
    }
    return finding;
}

Finding line_finding(const Asked& asked, const measures::LineResult& line) {
    const Limit& limit = asked.limit;
    Finding finding;
    finding.observations = line.segments;
    if (limit.quantity == Quantity::cv)
        finding.estimate = line.cv;
    else if (limit.quantity == Quantity::dispersion_index)
        finding.estimate = line.dispersion_index;
    else
        finding.estimate = line.rate_error;
    if (!finding.estimate && limit.quantity == Quantity::rate_error)
        finding.why_undefined = "the log states no target (rate_per_m_milli)";
    if (asked.doubt.any() && finding.estimate && finding.estimate->interval)
        finding.at_best = line_at_best(limit, line, *finding.estimate->interval, asked.doubt);
    return finding;
}

// The numbers on which a judgement rests: those that the gate saw, or with its own misses taken out.
enum class Basis { as_seen, corrected };

Asked asked_of(const Limit& limit, const AuditReport& report, const ChannelReport& channel) {
    return {limit, channel.gate, doubt_about(report, channel), report.profile.confidence};
}

Finding finding_as_seen(const Asked& asked, const Results& results) {
    const bool places = is_placement(asked.limit.quantity);
    return std::visit(
        Cases{
            [&](const SingleDrops& single) {
                if (places)
                    return placement_finding(asked, single.drops);
                return single.spacing && !is_per_drop(asked.limit.quantity)
                           ? spacing_finding(asked, *single.spacing)
                           : counted_finding(asked, single);
            },
            [&](const Portions& portions) {
                return places ? placement_finding(asked, portions.drops)
                              : portion_finding(asked, portions);
            },
            [&](const measures::LineResult& line) { return line_finding(asked, line); },
            [&](const measures::SpacingResult& listed) { return spacing_finding(asked, listed); }},
        results);
}

// A gate that overlooks seeds makes two spacings one: which ones is not known.
Finding not_correctable(const ChannelReport& channel) {
    return undefined(fmt::format(
        "gate {} overlooks seeds, and those can't be put back into the spacings", channel.gate));
}

Finding silent(const ChannelReport& channel) {
    return undefined(fmt::format("gate {} saw nothing at all: the unit may have dropped nothing, "
                                 "or the gate may be blind",
                                 channel.gate));
}

Finding finding_for(const Limit& limit, const AuditReport& report, const ChannelReport& channel,
                    Basis basis) {
    if (gate_is_silent(channel) && channel.drops() != nullptr)
        return silent(channel);
    if (basis == Basis::corrected) {
        if (auto corrected = corrected_finding(limit, report, channel))
            return *std::move(corrected);
        if (is_per_spacing(limit.quantity))
            return not_correctable(channel);
    }
    return finding_as_seen(asked_of(limit, report, channel), channel.results);
}

bool needs_commanded_drops(Quantity quantity) {
    return is_placement(quantity) || is_per_drop(quantity);
}

bool has_ledger_share(Quantity quantity) {
    return quantity == Quantity::miss_index || quantity == Quantity::multiples_index;
}

// By the ledger's own share per commanded drop.
verdict::Criterion judged_by_ledger(const Limit& limit, const AuditReport& report,
                                    const ChannelReport& channel, const SingleDrops& single) {
    return verdict::judge(limit, counted_finding(asked_of(limit, report, channel), single),
                          report.profile, run_state(report, channel));
}

// The spacing index counts a gap of four and more misses as three, none before the first or after
// the last landing, and is not defined where most spacings are multiples. *Within* needs the index
// and the ledger's share inside; what the ledger alone shows to be beyond the limit is outside; and
// where there is no index the ledger decides.
void judge_ledger_share(const AuditReport& report, const ChannelReport& channel,
                        verdict::Criterion& criterion) {
    const SingleDrops* const single = channel.single();
    if (criterion.outcome == verdict::Outcome::outside || single == nullptr || !single->spacing ||
        gate_is_silent(channel))
        return;
    const verdict::Criterion by_ledger =
        judged_by_ledger(criterion.limit, report, channel, *single);
    const bool no_index = !criterion.estimate || !criterion.estimate->interval;
    const bool decides = no_index || by_ledger.outcome == verdict::Outcome::outside ||
                         criterion.outcome == verdict::Outcome::within;
    if (!decides || (!no_index && by_ledger.outcome == verdict::Outcome::within))
        return;
    const bool misses = criterion.limit.quantity == Quantity::miss_index;
    const measures::LedgerTable& table = single->drops.table;
    criterion.outcome = by_ledger.outcome;
    criterion.more_drops = by_ledger.more_drops;
    criterion.reason = fmt::format(
        "{} of {} commanded drops had {}: {}; the spacing index {}",
        misses ? table.miss : table.multiple, table.drops, misses ? "no seed" : "several seeds",
        by_ledger.reason,
        no_index ? "is not defined"
                 : "does not show it (long gaps, or drops before the first or after the last "
                   "landing)");
}

verdict::Judgement judgement_of(const AuditReport& report, const ChannelReport& channel,
                                Basis basis) {
    const RunState state = run_state(report, channel);
    const auto& known = channel.sensor.efficiency;
    const double efficiency = basis == Basis::corrected && known ? known->value : 1.0;
    std::vector<verdict::Criterion> criteria;
    for (const Limit& limit : report.profile.limits) {
        if (report.from_spacings && needs_commanded_drops(limit.quantity))
            continue;
        criteria.push_back(verdict::judge(limit, finding_for(limit, report, channel, basis),
                                          report.profile, state));
        if (basis == Basis::corrected)
            explain_undecided(channel, criteria.back());
        else if (has_ledger_share(limit.quantity))
            judge_ledger_share(report, channel, criteria.back());
        withhold_what_changes(channel, report.profile.confidence, efficiency, criteria.back());
        withhold_what_a_dim_gate_misses(channel, report.profile.confidence, criteria.back());
        if (basis == Basis::as_seen && state.complete)
            keep_what_the_run_found(report, channel, criteria.back());
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
