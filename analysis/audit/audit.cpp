#include "analysis/audit/audit.hpp"

#include "analysis/audit/correct.hpp"
#include "analysis/audit/doubt/contradictions.hpp"
#include "analysis/audit/doubt/doubted_causes.hpp"
#include "analysis/audit/doubt/doubtful_line.hpp"
#include "analysis/audit/judge.hpp"
#include "analysis/audit/notes.hpp"
#include "analysis/audit/pass.hpp"
#include "analysis/audit/places.hpp"
#include "analysis/audit/siblings.hpp"
#include "analysis/audit/stopped_run.hpp"
#include "analysis/base/side_by_side.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

namespace dropledger::audit {

using ledger::ChannelOutcome;
using ledger::GateLedger;
using ledger::GatePlace;
using ledger::Mode;
using measures::ChannelTally;

namespace {

std::optional<SequentialResult> test_of(const std::optional<measures::SequentialPath>& path) {
    return path ? std::optional{SequentialResult{*path, false, std::nullopt}} : std::nullopt;
}

CommandedDrops drops_of(const AuditReport& report, const ChannelTally& tally, int direction,
                        const ChannelReport& channel) {
    CommandedDrops drops{.table = tally.entries().table(),
                         .placement = std::nullopt,
                         .miss_test = test_of(tally.miss_path()),
                         .multiples_test = test_of(tally.multiples_path()),
                         .misses_independence = tally.entries().misses_independence(),
                         .multiples_independence = tally.entries().multiples_independence(),
                         .trace = tally.trace()};
    if (!channel.gate_only_counts)
        drops.placement = tally.placement().result(report.profile.allowance_um, direction,
                                                   report.profile.confidence);
    return drops;
}

// Placement and spacings know nothing of each other, and are what takes time in a short log.
SingleDrops single_drops(const AuditReport& report, const ChannelTally& tally, int direction,
                         const ChannelReport& channel) {
    const Confidence confidence = report.profile.confidence;
    SingleDrops single;
    // Both ask the entries, which keep the share that was asked for last: one thread.
    const auto drops = [&] {
        single.shares = tally.entries().single_shares(confidence);
        single.drops = drops_of(report, tally, direction, channel);
    };
    const auto spacings = [&] {
        if (!channel.gate_only_counts)
            single.spacing = tally.spacing()->result(confidence);
    };
    side_by_side(2, [&](std::size_t i) { i == 0 ? drops() : spacings(); });
    if (single.spacing && (single.drops.miss_test || single.drops.multiples_test))
        allow_for_stop(*tally.spacing(), report.stopping_rule, confidence, *single.spacing);
    return single;
}

Results results_of(const AuditReport& report, const ChannelTally& tally, int direction,
                   const ChannelReport& channel) {
    const Confidence confidence = report.profile.confidence;
    switch (report.setup.mode) {
    case Mode::single:
        return single_drops(report, tally, direction, channel);
    case Mode::portion:
        return Portions{drops_of(report, tally, direction, channel),
                        tally.entries().portion_shares(confidence),
                        tally.entries().portion(confidence)};
    case Mode::line: {
        const std::int64_t unsown = unsown_um(report.setup, report.travelled, *tally.line());
        auto line =
            tally.line()->with_unsown(unsown).result(report.setup.rate_per_m_milli, confidence);
        line.unsown_um = unsown;
        return line;
    }
    }
    throw BrokenInvariant("a run without a mode");
}

void check_seeds(const GateLedger& judge, const ChannelReport& channel) {
    const auto handed_on = static_cast<std::int64_t>(judge.tally().seeds);
    const CommandedDrops* const drops = channel.drops();
    if (drops != nullptr && handed_on != drops->table.seeds)
        throw BrokenInvariant(
            fmt::format("channel {}: {} seeds were handed to the ledger, {} are entered or stray",
                        channel.channel, handed_on, drops->table.seeds));
}

void find_causes(const Pass& pass, const ChannelOutcome& outcome, const GateLedger& judge,
                 ChannelReport& channel) {
    const int number = outcome.setup.channel;
    const causes::CauseWatch* other = nullptr;
    for (const GateLedger& gate : outcome.gates)
        if (gate.gate().number != judge.gate().number && gate.tally().pulses > 0)
            other = &pass.tallies.at({number, gate.gate().number})->watch();
    const causes::CauseWatch& watch = pass.tallies.at({number, judge.gate().number})->watch();
    channel.causes = watch.causes(other);
    channel.along = watch.along_the_run(other);
}

std::optional<GateComparison> gate_comparison(const Pass& pass, const ChannelOutcome& outcome,
                                              Confidence confidence) {
    const auto evidence = [&](const GateLedger& gate) {
        const auto& sink = pass.tallies.at({outcome.setup.channel, gate.gate().number});
        return GateEvidence{.gate = gate.gate().number,
                            .seeds = static_cast<std::int64_t>(gate.tally().seeds),
                            .drops = &sink->seen(),
                            .several = &sink->several()};
    };
    const GateLedger& judge = outcome.gates.at(outcome.judge);
    for (const GateLedger& gate : outcome.gates)
        if (gate.gate().number != judge.gate().number && gate.tally().seeds > 0)
            return compared_gates(evidence(judge), evidence(gate), pass.ledger->setup().mode,
                                  confidence);
    return std::nullopt;
}

ChannelReport judged_by(const ChannelOutcome& outcome, const GateLedger& judge) {
    ChannelReport channel;
    channel.channel = outcome.setup.channel;
    channel.unit = outcome.setup.unit;
    channel.row = outcome.setup.row;
    channel.gate = judge.gate().number;
    channel.gate_only_counts = judge.gate().place == GatePlace::above;
    channel.pulses = static_cast<std::int64_t>(judge.tally().pulses);
    channel.rejected_pulses =
        static_cast<std::int64_t>(judge.tally().debris + judge.tally().unplaced);
    channel.sensor.pulses_by_gate = outcome.pulses_by_gate;
    return channel;
}

// Of the flight time in force: the calibration's, else what the log states beside its own.
std::optional<double> flight_u_us(const GateLedger& judge, const GateCalibration* calibrated) {
    if (calibrated != nullptr && calibrated->flight_u_us)
        return calibrated->flight_u_us;
    const auto stated_us = judge.gate().fall_u_us;
    return stated_us ? std::optional{static_cast<double>(*stated_us)} : std::nullopt;
}

ChannelReport channel_report(const AuditReport& report, const Pass& pass,
                             const ChannelOutcome& outcome) {
    const GateLedger& judge = outcome.gates.at(outcome.judge);
    const GateKey key{outcome.setup.channel, judge.gate().number};
    const auto calibration = pass.calibrated.gates.find(key);
    const GateCalibration* const calibrated =
        calibration == pass.calibrated.gates.end() ? nullptr : &calibration->second;
    const ChannelTally& tally = *pass.tallies.at(key)->tally();
    tally.entries().check_identities(key.first);
    ChannelReport channel = judged_by(outcome, judge);
    channel.results = results_of(report, tally, pass.ledger->direction(), channel);
    add_channel_notes(report.setup, {&outcome, &judge, calibrated}, channel);
    if (CommandedDrops* const drops = channel.drops(); drops != nullptr && drops->placement)
        doubt_places(report, judge, flight_u_us(judge, calibrated), *drops->placement);
    check_seeds(judge, channel);
    channel.sensor.gates_without_place = gates_without_place(report.setup.mode, outcome);
    channel.evidence = pass.tallies.at(key)->evidence();
    channel.gates = gate_comparison(pass, outcome, report.profile.confidence);
    add_sequence_notes(channel);
    if (channel.drops() != nullptr)
        find_causes(pass, outcome, judge, channel);
    return channel;
}

std::vector<ChannelReport> channel_reports(const AuditReport& report, const Pass& pass) {
    std::vector<const ChannelOutcome*> outcomes;
    for (const auto& [number, outcome] : pass.ledger->channels())
        outcomes.push_back(&outcome);
    std::vector<ChannelReport> channels(outcomes.size());
    side_by_side(outcomes.size(),
                 [&](std::size_t i) { channels[i] = channel_report(report, pass, *outcomes[i]); });
    return channels;
}

std::vector<measures::ChannelTotal> line_totals(const std::vector<ChannelReport>& channels) {
    std::vector<measures::ChannelTotal> totals;
    for (const ChannelReport& channel : channels)
        if (const measures::LineResult* const line = channel.line())
            totals.push_back({channel.channel, line->total_seeds});
    return totals;
}

void correct_all(const Pass& pass, AuditReport& report) {
    for (ChannelReport& channel : report.channels)
        if (const auto known = pass.calibrated.gates.find({channel.channel, channel.gate});
            known != pass.calibrated.gates.end())
            correct_for_sensor(report, known->second, channel);
}

// More drops do not mend a unit: they are advised only where nothing speaks for a cause.
void advise_drops_without_cause_only(const AuditReport& report, ChannelReport& channel) {
    const bool contradicted = std::any_of(
        report.contradictions.begin(), report.contradictions.end(), [&](const Contradicted& found) {
            return !found.channel || *found.channel == channel.channel;
        });
    if (!contradicted && channel.causes.empty())
        return;
    for (verdict::Criterion& criterion : channel.judgement.criteria)
        criterion.more_drops = 0;
}

void judge_all(AuditReport& report) {
    find_contradictions(report);
    look_first_at_what_is_shared(report);
    std::vector<verdict::Outcome> outcomes;
    for (ChannelReport& channel : report.channels) {
        withdraw_doubted_causes(report, channel);
        judge_channel(report, channel);
        hold_back(report, channel);
        advise_drops_without_cause_only(report, channel);
        outcomes.push_back(channel.judgement.outcome);
    }
    report.siblings = compare_siblings(report.channels, report.profile.least_difference);
    report.outcome = verdict::worst(outcomes, verdict::Outcome::undecided);
}

// What stands for the whole run; nothing of its channels yet.
AuditReport run_report(const Pass& pass, const std::string& file) {
    AuditReport report;
    report.file = file;
    report.integrity = pass.reading.integrity;
    report.header = pass.reading.header;
    report.run_id = report.header.run_id;
    report.started = report.header.started;
    report.setup = pass.ledger->setup();
    report.profile = pass.choice.profile;
    report.faults = pass.ledger->faults();
    report.halted_reason = pass.ledger->halted_reason();
    report.travelled = pass.ledger->travelled();
    report.direction = pass.ledger->direction();
    report.stopping_rule = pass.stated.rule;
    return report;
}

} // namespace

Result<AuditReport> audit_log(const OpenBytes& open, const AuditOptions& options) {
    auto pass = read_as_needed(open, options);
    if (!pass)
        return pass.error();
    AuditReport report = run_report(*pass, options.file);
    add_run_notes(report);
    for (const FurtherLog& further : options.continued)
        report.notes.push_back(fmt::format(
            "Judged as one run with {}, which goes on with its order: same bench, units and "
            "settings. That holds where the first one ended early for a reason that has nothing "
            "to do with what it showed ({}).",
            further.file, report.integrity.close_reason.value_or("")));
    if (!pass->calibrated.id.empty())
        report.calibration = pass->calibrated.id;
    report.notes.insert(report.notes.end(), pass->calibrated.notes.begin(),
                        pass->calibrated.notes.end());
    if (!pass->choice.note.empty())
        report.notes.push_back(pass->choice.note);
    report.channels = channel_reports(report, *pass);
    for (const std::string& remark : pass->stated.unreadable)
        report.notes.push_back(fmt::format(
            "The log's remark '{}' begins like a stopping rule and cannot be read: if the run "
            "stopped itself by it, the intervals do not allow for that.",
            remark));
    replay_stop(report);
    correct_all(*pass, report);
    report.transverse = measures::transverse(line_totals(report.channels));
    judge_all(report);
    return report;
}

} // namespace dropledger::audit
