#include "analysis/audit/audit.hpp"

#include "analysis/audit/contradictions.hpp"
#include "analysis/audit/correct.hpp"
#include "analysis/audit/judge.hpp"
#include "analysis/audit/notes.hpp"
#include "analysis/audit/profile_choice.hpp"
#include "analysis/audit/siblings.hpp"
#include "analysis/audit/stopped_run.hpp"
#include "analysis/causes/cause_watch.hpp"
#include "analysis/ledger/sink_threads.hpp"
#include "analysis/statistics/basics/distributions.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <memory>
#include <thread>
#include <utility>

namespace dropledger::audit {

using ledger::ChannelOutcome;
using ledger::Gate;
using ledger::GateLedger;
using ledger::GatePlace;
using ledger::Mode;
using ledger::RunLedger;
using measures::ChannelTally;

namespace {

using GateKey = std::pair<int, int>; // channel, gate

// All that takes up one gate's ledger.
class GateSink : public ledger::EntrySink {
public:
    GateSink(const causes::WatchSettings& watch, bool compares)
        : watch_(watch), compares_(compares) {}

    void entry(const ledger::Entry& entry) override {
        watch_.add(entry);
        if (compares_)
            seen_.push_back(entry.seeds > 0);
    }
    void assigned(const ledger::Landing& landing, std::int64_t) override {
        watch_.add_pulse(landing.depth_milli);
    }
    void stray(const ledger::Landing&) override {}
    void landed(const ledger::Landing&) override {}
    void segment_ended() override {}

    [[nodiscard]] virtual const ChannelTally* tally() const {
        return nullptr;
    } // of a gate that may judge
    [[nodiscard]] const causes::CauseWatch& watch() const { return watch_; }
    [[nodiscard]] const SeenDrops& seen() const { return seen_; }

private:
    causes::CauseWatch watch_;
    bool compares_; // the channel has another gate
    SeenDrops seen_;
};

class JudgingSink final : public GateSink {
public:
    JudgingSink(const measures::TallySettings& tally, const causes::WatchSettings& watch,
                bool compares)
        : GateSink(watch, compares), tally_(tally) {}

    void entry(const ledger::Entry& entry) override {
        tally_.entry(entry);
        GateSink::entry(entry);
    }
    void assigned(const ledger::Landing& landing, std::int64_t error_um) override {
        tally_.assigned(landing, error_um);
        GateSink::assigned(landing, error_um);
    }
    void stray(const ledger::Landing& landing) override { tally_.stray(landing); }
    void landed(const ledger::Landing& landing) override { tally_.landed(landing); }
    void segment_ended() override { tally_.segment_ended(); }

    [[nodiscard]] const ChannelTally* tally() const override { return &tally_; }

private:
    ChannelTally tally_;
};

using Tallies = std::map<GateKey, std::unique_ptr<GateSink>>;

struct Pass {
    droplog::Reading reading;
    ProfileChoice choice;
    verdict::StatedRule stated;
    Calibrated calibrated;
    Tallies tallies;
    std::unique_ptr<ledger::SinkThreads> threads; // in which they work
    std::unique_ptr<RunLedger> ledger;
};

Error no_spacing() {
    return {ErrorKind::input, "setting spacing_um",
            "the log does not say how far apart drops were commanded", "give it with `spacing_mm`"};
}

Result<ledger::RunSetup> prepared(const droplog::Header& header, const AuditOptions& options,
                                  Pass& pass) {
    auto setup = ledger::run_setup(header, options.overrides);
    if (!setup)
        return setup;
    if (setup->mode != Mode::line && !setup->spacing_um)
        return no_spacing();
    auto chosen = choose_profile(options, header, setup->mode);
    if (!chosen)
        return chosen.error();
    pass.choice = *std::move(chosen);
    if (options.calibrate) {
        auto calibrated = options.calibrate(header, *setup);
        if (!calibrated)
            return calibrated.error();
        pass.calibrated = *std::move(calibrated);
    }
    return setup;
}

Error located(Error error, const std::string& file) {
    error.where = error.where.empty() ? file : fmt::format("{}: {}", file, error.where);
    return error;
}

measures::TallySettings tally_settings(const ledger::RunSetup& setup,
                                       const verdict::Profile& profile,
                                       const verdict::StoppingRule& rule) {
    return {.mode = setup.mode,
            .spacing_um = setup.spacing_um,
            .segment_um = profile.segment_um,
            .miss_plan = rule.miss,
            .multiples_plan = rule.multiples,
            .most_drops = rule.most};
}

std::optional<double> limit_of(const verdict::Profile& profile, Quantity quantity) {
    for (const verdict::Limit& limit : profile.limits)
        if (limit.quantity == quantity)
            return limit.value;
    return std::nullopt;
}

std::unique_ptr<GateSink> sink_for(const ledger::RunSetup& setup,
                                   const ledger::ChannelSetup& channel, const Gate& gate,
                                   const Pass& pass) {
    causes::WatchSettings watch{.mode = setup.mode,
                                .cells = channel.cells,
                                .has_places = gate.place == GatePlace::below,
                                .lead_is_set = channel.lead_us.has_value(),
                                .gate = gate.number,
                                .most_multiples =
                                    limit_of(pass.choice.profile, Quantity::multiples_index)};
    if (setup.mode == Mode::portion)
        watch.most_lag_mm = std::max(
            watch.most_lag_mm, limit_of(pass.choice.profile, Quantity::offset_mm).value_or(0.0));
    const bool compares = channel.gates.size() > 1;
    if (!channel.may_judge(gate.number))
        return std::make_unique<GateSink>(watch, compares);
    return std::make_unique<JudgingSink>(
        tally_settings(setup, pass.choice.profile, pass.stated.rule), watch, compares);
}

Result<Pass> read_once(const OpenBytes& open, const AuditOptions& options, ledger::KnownRun known) {
    auto source = open();
    if (!source)
        return source.error();
    Pass pass;
    pass.threads = std::make_unique<ledger::SinkThreads>(std::thread::hardware_concurrency());
    pass.ledger = std::make_unique<RunLedger>(
        [&](const droplog::Header& header) {
            pass.stated = verdict::stated_rule(header.remarks);
            return prepared(header, options, pass);
        },
        [&](const ledger::RunSetup& setup, const ledger::ChannelSetup& channel,
            const Gate& gate) -> ledger::EntrySink& {
            auto& sink = pass.tallies[{channel.channel, gate.number}];
            sink = sink_for(setup, channel, gate, pass);
            return pass.threads->before(*sink);
        },
        std::move(known));
    auto reading = droplog::read_log(**source, options.file, *pass.ledger);
    if (!reading)
        return reading.error();
    pass.ledger->finish();
    pass.threads->finish();
    if (pass.ledger->failure())
        return located(*pass.ledger->failure(), options.file);
    pass.reading = *std::move(reading);
    return pass;
}

// What a further pass should know beforehand: nothing where this one already entered every landing
// as the median over the whole run would. A difference under half a percent of the spacing is below
// what a registration can mean.
std::optional<ledger::KnownRun> better_known(const Pass& pass) {
    ledger::KnownRun all{.registrations = {}, .directions = pass.ledger->directions()};
    if (pass.ledger->misdirected())
        return all;
    bool matters = false;
    for (const auto& [number, outcome] : pass.ledger->channels()) {
        for (const GateLedger& gate : outcome.gates) {
            const ChannelTally* const tally =
                pass.tallies.at({number, gate.gate().number})->tally();
            if (tally == nullptr)
                continue;
            const std::int64_t used = gate.registration_um();
            const std::int64_t whole_run = tally->placement().median_landing_um().value_or(used);
            const std::int64_t difference = std::abs(whole_run - used);
            const std::int64_t spacing = pass.ledger->setup().spacing_um.value_or(0);
            const bool large = 200 * difference > spacing;
            matters |= large && tally->placement().near_border(used, spacing, difference) > 0;
            ledger::Registration& known = all.registrations[{number, gate.gate().number}];
            known = gate.registration();
            known.offset_um = large ? whole_run : used;
        }
    }
    return matters ? std::optional{std::move(all)} : std::nullopt;
}

constexpr int most_passes = 3; // one for the direction, one for the registrations

Result<Pass> read_as_needed(const OpenBytes& open, const AuditOptions& options) {
    auto pass = read_once(open, options, {});
    for (int passes = 1; pass && passes < most_passes; ++passes) {
        auto known = better_known(*pass);
        if (!known)
            break;
        const bool last = !known->registrations.empty();
        pass = read_once(open, options, *std::move(known));
        if (last)
            break;
    }
    return pass;
}

void add_measures(const AuditReport& report, const ChannelTally& tally, int direction,
                  ChannelReport& channel) {
    const Confidence confidence = report.profile.confidence;
    channel.table = tally.entries().table();
    channel.shares = tally.entries().shares(confidence);
    channel.misses_independence = tally.entries().misses_independence();
    channel.multiples_independence = tally.entries().multiples_independence();
    channel.portion = tally.entries().portion(confidence);
    channel.trace = tally.trace();
    if (const auto& path = tally.miss_path(); path && channel.has_ledger)
        channel.miss_test = SequentialResult{*path, false, std::nullopt};
    if (const auto& path = tally.multiples_path(); path && channel.has_ledger)
        channel.multiples_test = SequentialResult{*path, false, std::nullopt};
    if (tally.spacing() && !channel.gate_only_counts)
        channel.spacing = tally.spacing()->result(confidence);
    if (channel.has_ledger && !channel.gate_only_counts)
        channel.placement =
            tally.placement().result(report.profile.allowance_um, direction, confidence);
    if (tally.line())
        channel.line = tally.line()->result(report.setup.rate_per_m_milli, confidence);
    if (channel.spacing)
        channel.notes.insert(channel.notes.end(), channel.spacing->notes.begin(),
                             channel.spacing->notes.end());
}

// As the log states it, else the mean of its travel lines.
std::optional<double> speed_um_s(const AuditReport& report) {
    if (report.setup.speed_um_s)
        return static_cast<double>(*report.setup.speed_um_s);
    if (report.travelled.duration_us <= 0)
        return std::nullopt;
    return 1e6 * static_cast<double>(report.travelled.distance_um) /
           static_cast<double>(report.travelled.duration_us);
}

// The flight time's uncertainty moves all places alike, by the way travelled meanwhile. Without a
// speed nobody knows how far: no interval holds.
void widen_for_flight(double flight_u_us, std::optional<double> speed,
                      measures::PlacementResult& placement) {
    for (auto* const estimate : {&placement.offset_mm, &placement.bias_mm, &placement.p95_abs_mm}) {
        if (!*estimate || !(*estimate)->interval)
            continue;
        if (!speed) {
            (*estimate)->interval.reset();
            continue;
        }
        const double half = statistics::normal_quantile(1.0 - (*estimate)->confidence.each_tail()) *
                            flight_u_us * 1e-6 * *speed / 1000.0;
        statistics::Interval& interval = *(*estimate)->interval;
        const double value = (*estimate)->value;
        interval = {value - std::hypot(value - interval.low, half),
                    value + std::hypot(interval.high - value, half)};
        (*estimate)->method += ", flight time's uncertainty in quadrature";
    }
    if (placement.p95_abs_mm && placement.p95_abs_mm->interval)
        placement.p95_abs_mm->interval->low = std::max(0.0, placement.p95_abs_mm->interval->low);
}

// Known up to whole spacings at the most: an interval would claim more.
void withdraw_places(ChannelReport& channel) {
    if (!channel.placement)
        return;
    for (auto* const estimate : {&channel.placement->offset_mm, &channel.placement->bias_mm})
        if (*estimate) {
            (*estimate)->interval.reset();
            (*estimate)->no_interval = statistics::NoInterval::not_identified;
        }
}

void check_seeds(const GateLedger& judge, const ChannelReport& channel) {
    const auto handed_on = static_cast<std::int64_t>(judge.tally().seeds);
    if (channel.has_ledger && handed_on != channel.table.seeds)
        throw BrokenInvariant(
            fmt::format("channel {}: {} seeds were handed to the ledger, {} are entered or stray",
                        channel.channel, handed_on, channel.table.seeds));
}

std::vector<Cause> causes_of(const Pass& pass, const ChannelOutcome& outcome,
                             const GateLedger& judge) {
    const int number = outcome.setup.channel;
    const causes::CauseWatch* other = nullptr;
    for (const GateLedger& gate : outcome.gates)
        if (gate.gate().number != judge.gate().number && gate.tally().pulses > 0)
            other = &pass.tallies.at({number, gate.gate().number})->watch();
    return pass.tallies.at({number, judge.gate().number})->watch().causes(other);
}

std::optional<GateComparison> gate_comparison(const Pass& pass, const ChannelOutcome& outcome,
                                              Confidence confidence) {
    const auto evidence = [&](const GateLedger& gate) {
        const auto& sink = pass.tallies.at({outcome.setup.channel, gate.gate().number});
        return GateEvidence{.gate = gate.gate().number,
                            .seeds = static_cast<std::int64_t>(gate.tally().seeds),
                            .drops = &sink->seen()};
    };
    const GateLedger& judge = outcome.gates.at(outcome.judge);
    for (const GateLedger& gate : outcome.gates)
        if (gate.gate().number != judge.gate().number && gate.tally().seeds > 0)
            return compared_gates(evidence(judge), evidence(gate), pass.ledger->setup().mode,
                                  confidence);
    return std::nullopt;
}

ChannelReport channel_report(const AuditReport& report, const Pass& pass,
                             const ChannelOutcome& outcome) {
    const GateLedger& judge = outcome.gates.at(outcome.judge);
    const int number = outcome.setup.channel;
    ChannelReport channel;
    channel.channel = number;
    channel.unit = outcome.setup.unit;
    channel.row = outcome.setup.row;
    channel.gate = judge.gate().number;
    channel.gate_only_counts = judge.gate().place == GatePlace::above;
    channel.mode = report.setup.mode;
    channel.has_ledger = report.setup.mode != Mode::line;
    channel.pulses = static_cast<std::int64_t>(judge.tally().pulses);
    channel.rejected_pulses =
        static_cast<std::int64_t>(judge.tally().debris + judge.tally().unplaced);
    channel.registration_um = judge.registration_um() * pass.ledger->direction();
    channel.registration_identified = judge.registration().identified;
    channel.sensor.pulses_by_gate = outcome.pulses_by_gate;
    const ChannelTally& tally = *pass.tallies.at({number, judge.gate().number})->tally();
    tally.entries().check_identities(number);
    const auto calibration = pass.calibrated.gates.find({number, judge.gate().number});
    const GateCalibration* const calibrated =
        calibration == pass.calibrated.gates.end() ? nullptr : &calibration->second;
    add_channel_notes(report.setup, {&outcome, &judge, calibrated}, channel);
    add_measures(report, tally, pass.ledger->direction(), channel);
    if (calibrated != nullptr && calibrated->flight_u_us && channel.placement)
        widen_for_flight(*calibrated->flight_u_us, speed_um_s(report), *channel.placement);
    if (judge.registration().identified != ledger::Identified::yes)
        withdraw_places(channel);
    check_seeds(judge, channel);
    channel.gates = gate_comparison(pass, outcome, report.profile.confidence);
    add_dependence_notes(channel);
    if (channel.has_ledger)
        channel.causes = causes_of(pass, outcome, judge);
    return channel;
}

std::vector<measures::ChannelTotal> line_totals(const std::vector<ChannelReport>& channels) {
    std::vector<measures::ChannelTotal> totals;
    for (const ChannelReport& channel : channels)
        if (channel.line)
            totals.push_back({channel.channel, channel.line->total_seeds});
    return totals;
}

void correct_all(const Pass& pass, AuditReport& report) {
    for (ChannelReport& channel : report.channels)
        if (const auto known = pass.calibrated.gates.find({channel.channel, channel.gate});
            known != pass.calibrated.gates.end())
            correct_for_sensor(report, known->second, channel);
}

void judge_all(AuditReport& report) {
    find_contradictions(report);
    std::vector<verdict::Outcome> outcomes;
    for (ChannelReport& channel : report.channels) {
        judge_channel(report, channel);
        hold_back(report, channel);
        outcomes.push_back(channel.judgement.outcome);
    }
    report.siblings = compare_siblings(report.channels, report.profile.least_difference);
    report.outcome = verdict::worst(outcomes, verdict::Outcome::undecided);
}

} // namespace

Result<AuditReport> audit_log(const OpenBytes& open, const AuditOptions& options) {
    auto pass = read_as_needed(open, options);
    if (!pass)
        return pass.error();
    AuditReport report;
    report.file = options.file;
    report.integrity = pass->reading.integrity;
    report.header = pass->reading.header;
    report.run_id = report.header.run_id;
    report.started = report.header.started;
    report.setup = pass->ledger->setup();
    report.profile = pass->choice.profile;
    report.faults = pass->ledger->faults();
    report.halted_reason = pass->ledger->halted_reason();
    report.travelled = pass->ledger->travelled();
    report.direction = pass->ledger->direction();
    add_run_notes(report);
    if (!pass->calibrated.id.empty())
        report.calibration = pass->calibrated.id;
    report.notes.insert(report.notes.end(), pass->calibrated.notes.begin(),
                        pass->calibrated.notes.end());
    if (!pass->choice.note.empty())
        report.notes.push_back(pass->choice.note);
    for (const auto& [number, outcome] : pass->ledger->channels())
        report.channels.push_back(channel_report(report, *pass, outcome));
    report.stopping_rule = pass->stated.rule;
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
