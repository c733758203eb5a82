#include "analysis/audit/notes.hpp"

#include "analysis/droplog/reasons.hpp"

#include <fmt/format.h>

namespace dropledger::audit {

using ledger::ChannelOutcome;
using ledger::Gate;
using ledger::GateLedger;
using ledger::Mode;

namespace {

void add_flight_note(const Gate& gate, const GateCalibration* calibration, ChannelReport& channel) {
    if (calibration != nullptr && calibration->flight_u_us)
        channel.notes.push_back(fmt::format(
            "Flight time from gate {} to the ground: {} us, standard uncertainty {:.0f} "
            "us, by calibration {}; it shifts all places alike and is in the intervals of offset, "
            "bias and 95th percentile.",
            gate.number, gate.fall_us, *calibration->flight_u_us, calibration->id));
    else if (gate.fall_us > 0)
        channel.notes.push_back(
            fmt::format("Flight time from gate {} to the ground: {} us as the log states it; its "
                        "uncertainty is not known, so it is not in the intervals.",
                        gate.number, gate.fall_us));
}

void add_capture_note(const ledger::Captured& captured, AuditReport& report) {
    report.notes.push_back(fmt::format(
        "This log is the capture of an instrument: no controller numbered or kept its lines, so "
        "what "
        "the instrument overlooked nobody counted. One sample is {:g} us; its way is in the "
        "intervals of offset, bias and 95th percentile, and pulses have no depth.",
        static_cast<double>(captured.step_ps) / 1e6));
    if (captured.travel == droplog::CapturedTravel::stated_speed)
        report.notes.emplace_back("Travel was not measured: the speed is what somebody stated, and "
                                  "places and spacings are true as far as it was kept.");
    if (captured.travel == droplog::CapturedTravel::length_pulses)
        report.notes.emplace_back("Travel was measured by one pulse a length and is linear in "
                                  "between.");
}

// What one pulse stands for, and what the gate overlooks.
void add_counting_notes(Mode mode, const Gate& gate, const Judging& judging,
                        ChannelReport& channel) {
    const bool single = mode == Mode::single;
    if (!gate.seeds_in_pulse)
        channel.notes.emplace_back(single
                                       ? "No pulse classifier: one pulse is counted as one seed."
                                       : "No pulse classifier: one pulse is counted as one seed, "
                                         "so seeds that overlap in the beam are counted short.");
    if (channel.gate_only_counts)
        channel.notes.push_back(fmt::format(
            "Gate {} sits above the valve and only counts: drops are matched by the time "
            "between valve openings, places and spacings are not known.",
            gate.number));
    else
        add_flight_note(gate, judging.calibration, channel);
    if (judging.calibration == nullptr || !judging.calibration->efficiency)
        channel.notes.push_back(fmt::format(
            "No counting efficiency of gate {} is known: a seed that the gate overlooks {}.",
            gate.number, single ? "counts as a miss" : "is missing from the counts"));
}

void add_place_notes(Mode mode, const GateLedger& judge, ChannelReport& channel) {
    if (judge.tally().unplaced > 0)
        channel.notes.push_back(fmt::format(
            "{} pulses could not be placed: the log holds no travel reference for them.",
            judge.tally().unplaced));
    const ledger::Identified identified = judge.registration().identified;
    if (mode != Mode::line && !channel.gate_only_counts && identified != ledger::Identified::yes)
        channel.notes.push_back(fmt::format(
            "The offset of landings from their commanded places is not identified: {}. It is "
            "known up to whole spacings at the most.",
            ledger::row_of(identified).words));
    if (judge.tally().turned_back > 0)
        channel.notes.push_back(fmt::format("{} landings lie over two metres behind where travel "
                                            "had been: travel turned back. They "
                                            "count as strays, and no spacing is taken to them.",
                                            judge.tally().turned_back));
}

} // namespace

void add_channel_notes(const ledger::RunSetup& setup, const Judging& judging,
                       ChannelReport& channel) {
    const ChannelOutcome& outcome = *judging.outcome;
    const GateLedger& judge = *judging.judge;
    channel.notes = outcome.setup.assumed;
    const Gate& gate = judge.gate();
    add_counting_notes(setup.mode, gate, judging, channel);
    add_place_notes(setup.mode, judge, channel);
    for (const auto& [number, pulses] : outcome.pulses_by_gate)
        if (number != gate.number && judge.tally().pulses == 0 && pulses > 0)
            channel.notes.push_back(fmt::format(
                "Gate {} judges but saw nothing, while gate {} saw {} pulses: check gate {}.",
                gate.number, number, pulses, gate.number));
    if (const measures::SpacingResult* const spacing = channel.spacing())
        channel.notes.insert(channel.notes.end(), spacing->notes.begin(), spacing->notes.end());
}

void add_sequence_notes(ChannelReport& channel) {
    const auto note = [&](const measures::Independence& found, const char* what) {
        if (!found.holds)
            channel.notes.push_back(
                fmt::format("{} do not come independently (p = {:.2g}; number of rows p = {:.2g}, "
                            "starts in blocks p = {:.2g}): their intervals allow for rows.",
                            what, found.p, found.runs_p, found.clustered_p));
    };
    if (const measures::LineResult* const line = channel.line(); line && line->unsown_um > 0)
        channel.notes.push_back(fmt::format(
            "{:.1f} m were travelled without seed before the first or behind the last one: they "
            "count as a part of the line.",
            static_cast<double>(line->unsown_um) / 1e6));
    const CommandedDrops* const drops = channel.drops();
    if (drops == nullptr)
        return;
    const bool portion = channel.mode() == Mode::portion;
    note(drops->misses_independence, portion ? "Empty portions" : "Misses");
    note(drops->multiples_independence, portion ? "Portions over their count" : "Multiples");
}

void add_run_notes(AuditReport& report) {
    report.notes = report.setup.assumed;
    if (report.setup.captured)
        add_capture_note(*report.setup.captured, report);
    const droplog::Integrity& integrity = report.integrity;
    if (!integrity.complete())
        report.notes.emplace_back("The run is incomplete: it cannot pass.");
    if (droplog::halt_reason_of(report.halted_reason) == droplog::HaltReason::host &&
        !report.stopping_rule.tests_anything())
        report.notes.emplace_back(
            "The run was halted by hand: its intervals hold where that had nothing to do with what "
            "it showed. A run that may end as soon as it is decided says so before it begins.");
    if (!integrity.seals.intact)
        report.notes.push_back(fmt::format(
            "The seal chain is broken at line {}: the log was changed after it was written, or "
            "damaged. No certificate can be issued from it.",
            integrity.seals.first_bad_line.value()));
    if (integrity.bad_signature)
        report.notes.emplace_back("The signature does not fit the log's last seal.");
    if (integrity.lines.conflicting > 0)
        report.notes.push_back(fmt::format(
            "{} lines contradict an earlier line of the same SEQ; the earlier one counts.",
            integrity.lines.conflicting));
    if (integrity.boots > 1)
        report.notes.push_back(fmt::format("The controller started anew {} times during the run; "
                                           "spacings are not taken across.",
                                           integrity.boots - 1));
    if (integrity.starts > 1)
        report.notes.push_back(fmt::format(
            "The run was gone on with in this log: {} starts make one verdict; spacings are not "
            "taken across.",
            integrity.starts));
    if (report.travelled.jumps > 0)
        report.notes.push_back(
            fmt::format("{} travel lines that can't be are left out.", report.travelled.jumps));
    if (report.travelled.set_anew > 0)
        report.notes.emplace_back(
            "Spacings are not taken across the places where travel was set anew, and drops and "
            "seeds about there may stand against each other wrongly.");
    for (const ledger::Fault& fault : report.faults)
        report.notes.push_back(fmt::format(
            "The controller reported {}{} (line {}).", fault.code,
            fault.channel < 0 ? std::string{} : fmt::format(" on channel {}", fault.channel),
            fault.line));
}

} // namespace dropledger::audit
