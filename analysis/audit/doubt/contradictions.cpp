#include "analysis/audit/doubt/contradictions.hpp"

#include "analysis/audit/doubt/doubt.hpp"
#include "analysis/audit/doubt/doubtful_drops.hpp"
#include "analysis/audit/doubt/doubtful_line.hpp"
#include "analysis/measures/number_words.hpp"
#include "analysis/statistics/shares/capture_recapture.hpp"
#include "analysis/statistics/shares/proportion.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <span>

namespace dropledger::audit {

namespace {

using statistics::TwoObservers;
using verdict::Outcome;

// At least so many of the other's seeds were overlooked, whatever both overlooked.
double overlooked_at_least(std::int64_t seen, std::int64_t of, Confidence confidence) {
    if (of <= 0 || seen >= of)
        return 0.0;
    return statistics::clopper_pearson(of - seen, of, confidence).low;
}

TwoObservers matched(const SeenDrops& judging, const SeenDrops& other) {
    TwoObservers seen;
    const std::size_t drops = std::min(judging.size(), other.size());
    for (std::size_t i = 0; i < drops; ++i) {
        seen.first += judging[i] ? 1 : 0;
        seen.second += other[i] ? 1 : 0;
        seen.both += judging[i] && other[i] ? 1 : 0;
    }
    return seen;
}

void count_several(const GateEvidence& judging, const GateEvidence& other, GateComparison& found) {
    if (judging.several == nullptr || other.several == nullptr)
        return;
    const auto drops = std::min(judging.several->size(), other.several->size());
    found.drops = static_cast<std::int64_t>(drops);
    for (std::size_t i = 0; i < drops; ++i) {
        const bool both = (*judging.several)[i] && (*other.several)[i];
        found.confirmed += both ? 1 : 0;
        found.split += (*judging.several)[i] && (*other.drops)[i] && !both ? 1 : 0;
    }
}

bool is_of_misses(measures::Quantity what) {
    using Q = measures::Quantity;
    return what == Q::miss_index || what == Q::miss_share || what == Q::misses ||
           what == Q::quality_of_feed_index || what == Q::quality_of_feed ||
           what == Q::empty_share || what == Q::exact_share || what == Q::cp3_reference;
}

bool concerns(const Contradicted& found, const ChannelReport& channel, measures::Quantity what) {
    if (found.channel && *found.channel != channel.channel)
        return false;
    switch (found.kind) {
    case Contradiction::log_disagrees:
        return true;
    case Contradiction::gates_disagree:
    case Contradiction::calibration_contradicted:
        return !is_placement(what) && what != measures::Quantity::precision;
    case Contradiction::all_units_off:
    case Contradiction::gate_without_place:
        return is_placement(what) && what != measures::Quantity::sd_mm;
    case Contradiction::travel_jumps:
        return !channel.gate_only_counts;
    case Contradiction::order_not_carried_out:
    case Contradiction::channels_alike:
    case Contradiction::pulses_without_drop:
        return true;
    case Contradiction::gate_fell_silent:
        return is_of_misses(what) || channel.line() != nullptr;
    case Contradiction::drops_out_of_step:
        return is_placement(what) && what != measures::Quantity::sd_mm;
    }
    throw BrokenInvariant("a contradiction that concerns nothing");
}

void add_log(AuditReport& report) {
    for (const droplog::FoundFlaw& flaw : report.integrity.contradictions())
        report.contradictions.push_back(
            {Contradiction::log_disagrees, std::nullopt,
             "the log does not agree with itself: " + droplog::in_words(flaw),
             "take the log as the driver wrote it, or run again"});
}

bool agrees(const statistics::Estimate& stated, const GateComparison& seen) {
    if (!stated.interval || !seen.judging_efficiency || !seen.judging_efficiency->interval)
        return false;
    constexpr double near_enough = 0.02;
    const statistics::Interval& here = *seen.judging_efficiency->interval;
    return stated.interval->low <= here.high + near_enough &&
           here.low - near_enough <= stated.interval->high;
}

// Gates that see as many seeds, but not of the same drops, may belong to different units.
std::string gates_remedy(const ChannelReport& channel, const GateComparison& gates) {
    constexpr std::int64_t parts = 50;
    const bool as_many =
        parts * std::abs(gates.judging_seeds - gates.other_seeds) <= gates.other_seeds;
    return as_many ? fmt::format("check that gates {} and {} sit on the same unit; else clean gate "
                                 "{}, calibrate it and run again",
                                 channel.gate, gates.other_gate, channel.gate)
                   : fmt::format("clean gate {}, then calibrate it (calibrate efficiency) and run "
                                 "again",
                                 channel.gate);
}

void add_gates(const ChannelReport& channel, AuditReport& report) {
    const auto& gates = channel.gates;
    if (!gates || !gates->judge_suspect)
        return;
    const bool calibrated = channel.sensor.judges_corrected && channel.sensor.efficiency;
    if (calibrated && (!gates->judging_efficiency || agrees(*channel.sensor.efficiency, *gates)))
        return;
    report.contradictions.push_back(
        {calibrated ? Contradiction::calibration_contradicted : Contradiction::gates_disagree,
         channel.channel,
         fmt::format(
             "the gates of {} disagree: gate {}, which judges, saw {} seeds, gate {} saw {}; "
             "gate {} overlooks seeds",
             unit_name(channel), channel.gate, grouped(gates->judging_seeds), gates->other_gate,
             grouped(gates->other_seeds), channel.gate),
         gates_remedy(channel, *gates)});
}

void add_calibration(const ChannelReport& channel, AuditReport& report) {
    if (channel.sensor.contradicted)
        report.contradictions.push_back(
            {Contradiction::calibration_contradicted, channel.channel,
             fmt::format("{} contradicts its calibration {}: more seeds were seen than it allows",
                         unit_name(channel), channel.sensor.calibration),
             fmt::format("calibrate gate {} anew", channel.gate)});
}

void add_places(const ChannelReport& channel, AuditReport& report) {
    for (const int gate : channel.sensor.gates_without_place)
        report.contradictions.push_back(
            {Contradiction::gate_without_place, channel.channel,
             fmt::format(
                 "gate {} of {} saw {} pulses, and the log does not say where it sits", gate,
                 unit_name(channel),
                 grouped(static_cast<std::int64_t>(channel.sensor.pulses_by_gate.at(gate)))),
             fmt::format("state gate{}_place (above or below the valve; below: gate{}_fall_us too) "
                         "before the run, or unplug the gate",
                         gate, gate)});
}

void add_travel(AuditReport& report) {
    const ledger::TravelExtent& travel = report.travelled;
    const bool untold = 20 * travel.untold_us > travel.duration_us;
    if (travel.jumps == 0 && travel.set_anew == 0 && !untold)
        return;
    const std::string what =
        untold ? fmt::format(
                     "for {:.0f} s of {:.0f} s no travel line came within two seconds, and one "
                     "is due every quarter of a second: nothing tells the places in between",
                     static_cast<double>(travel.untold_us) / 1e6,
                     static_cast<double>(travel.duration_us) / 1e6)
        : travel.set_anew > 0
            ? fmt::format("travel went on from another place {} times without a boot",
                          travel.set_anew)
            : fmt::format("{} travel lines tell of a place that no machine can have driven to "
                          "(first at line {})",
                          travel.jumps, travel.jumps_at.front());
    report.contradictions.push_back({Contradiction::travel_jumps, std::nullopt, what,
                                     "check the encoder, its cable and what sets its counter; then "
                                     "run again"});
}

// Sorted: are all beyond the limit on one side, and off by about one amount?
bool are_off_alike(std::span<const double> offsets_mm, double limit_mm) {
    const double least = offsets_mm.front();
    const double most = offsets_mm.back();
    const bool beyond = least > limit_mm || most < -limit_mm;
    const double alike = offsets_mm.size() == 2 ? 0.1 : 0.25; // of the offset itself
    return beyond && most - least <= alike * std::min(std::abs(least), std::abs(most));
}

// The units that are off alike: all of them, or of four and more all but one.
std::span<const double> off_alike(std::span<const double> offsets_mm, double limit_mm) {
    if (are_off_alike(offsets_mm, limit_mm))
        return offsets_mm;
    if (offsets_mm.size() < least_units_all_but_one)
        return {};
    for (const auto but_one : {offsets_mm.first(offsets_mm.size() - 1), offsets_mm.subspan(1)})
        if (are_off_alike(but_one, limit_mm))
            return but_one;
    return {};
}

void add_all_off(AuditReport& report) {
    const auto limit_mm = report.profile.limit_of(measures::Quantity::offset_mm);
    std::vector<double> offsets_mm;
    for (const ChannelReport& channel : report.channels)
        if (const auto* const placement = channel.placement(); placement && placement->offset_mm)
            offsets_mm.push_back(placement->offset_mm->value);
    if (!limit_mm || offsets_mm.size() < least_units_alike ||
        offsets_mm.size() != report.channels.size())
        return;
    std::sort(offsets_mm.begin(), offsets_mm.end());
    const std::span<const double> off = off_alike(offsets_mm, *limit_mm);
    if (off.empty())
        return;
    const std::string which = offsets_mm.size() == 2 ? "both"
                              : off.size() == offsets_mm.size()
                                  ? fmt::format("all {}", off.size())
                                  : fmt::format("{} of {}", off.size(), offsets_mm.size());
    report.contradictions.push_back({Contradiction::all_units_off, std::nullopt,
                                     fmt::format("{} units are off by about the same {:.0f} mm",
                                                 which, (off.front() + off.back()) / 2.0),
                                     "check what they have in common before the units: gate place "
                                     "and height, fall time, lead"});
}

} // namespace

std::optional<GateComparison> compared_gates(const GateEvidence& judging, const GateEvidence& other,
                                             ledger::Mode mode, Confidence confidence) {
    if (other.seeds == 0)
        return std::nullopt;
    GateComparison found{
        .other_gate = other.gate, .judging_seeds = judging.seeds, .other_seeds = other.seeds};
    double overlooked = overlooked_at_least(judging.seeds, other.seeds, confidence);
    if (mode == ledger::Mode::single && judging.drops != nullptr && other.drops != nullptr) {
        const TwoObservers seen = matched(*judging.drops, *other.drops);
        overlooked = std::max(overlooked, overlooked_at_least(seen.both, seen.second, confidence));
        if (const auto recaptured = statistics::recapture(seen, confidence)) {
            found.judging_efficiency = recaptured->first_efficiency;
            found.other_efficiency = recaptured->second_efficiency;
            found.assumption = recaptured->assumption;
        }
        count_several(judging, other, found);
    }
    found.judge_suspect = overlooked > overlooked_allowed;
    return found;
}

void find_contradictions(AuditReport& report) {
    add_log(report);
    add_travel(report);
    for (const ChannelReport& channel : report.channels) {
        add_places(channel, report);
        add_doubtful_drops(channel, report);
        add_doubtful_line(channel, report);
        add_more_than_asked(channel, report);
        add_gates(channel, report);
        add_calibration(channel, report);
    }
    add_alike(report);
    add_overheard(report);
    add_all_off(report);
}

void hold_back(const AuditReport& report, ChannelReport& channel) {
    bool held = false;
    for (verdict::Criterion& criterion : channel.judgement.criteria)
        for (const Contradicted& found : report.contradictions) {
            if (!concerns(found, channel, criterion.limit.quantity))
                continue;
            criterion.outcome = Outcome::undecided;
            criterion.more_drops = 0;
            criterion.reason = found.what;
            held = true;
            break;
        }
    if (held)
        channel.judgement =
            verdict::judgement(std::move(channel.judgement.criteria), run_state(report, channel));
}

} // namespace dropledger::audit
