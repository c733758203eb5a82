#include "analysis/audit/pass.hpp"

#include "analysis/audit/joined.hpp"
#include "analysis/audit/profile_choice.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <thread>

namespace dropledger::audit {

using ledger::Gate;
using ledger::GateLedger;
using ledger::GatePlace;
using ledger::Mode;
using ledger::RunLedger;
using measures::ChannelTally;

namespace {

Error no_spacing() {
    return input_error("setting spacing_um",
                       "the log does not say how far apart drops were commanded",
                       "give it with `spacing_mm`");
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

std::unique_ptr<GateSink> sink_for(const ledger::RunSetup& setup,
                                   const ledger::ChannelSetup& channel, const Gate& gate,
                                   const Pass& pass) {
    causes::WatchSettings watch{.mode = setup.mode,
                                .cells = channel.cells,
                                .has_places = gate.place == GatePlace::below,
                                .lead_is_set = channel.lead_us.has_value(),
                                .gate = gate.number,
                                .most_multiples =
                                    pass.choice.profile.limit_of(Quantity::multiples_index)};
    if (setup.mode == Mode::portion)
        watch.most_lag_mm = std::max(
            watch.most_lag_mm, pass.choice.profile.limit_of(Quantity::offset_mm).value_or(0.0));
    const bool compares = channel.gates.size() > 1;
    if (!channel.may_judge(gate.number))
        return std::make_unique<GateSink>(watch, setup, compares);
    return std::make_unique<JudgingSink>(
        tally_settings(setup, pass.choice.profile, pass.stated.rule), watch, setup, compares);
}

Result<Pass> read_once(const OpenBytes& open, const AuditOptions& options, ledger::KnownRun known) {
    auto source = open();
    if (!source)
        return source.error();
    Pass pass;
    pass.ledger = std::make_unique<RunLedger>(
        [&](const droplog::Header& header) {
            pass.stated = verdict::stated_rule(header.remarks);
            return prepared(header, options, pass);
        },
        [&](const ledger::RunSetup& setup, const ledger::ChannelSetup& channel,
            const Gate& gate) -> ledger::EntrySink& {
            auto& sink = pass.tallies[{channel.channel, gate.number}];
            sink = sink_for(setup, channel, gate, pass);
            return *sink;
        },
        std::move(known), ledger::Spread{.threads = std::thread::hardware_concurrency()});
    auto reading = droplog::read_log(**source, options.file, *pass.ledger);
    if (!reading)
        return reading.error();
    if (const Status joined = read_joined(*reading, options, *pass.ledger); !joined)
        return joined.error();
    pass.ledger->finish();
    if (pass.ledger->failure())
        return located(*pass.ledger->failure(), options.file);
    for (const auto& [gate, sink] : pass.tallies)
        if (const ChannelTally* const tally = sink->tally();
            tally != nullptr && pass.ledger->setup().mode != Mode::line)
            if (const Status fits = check_joined(*reading, options, tally->entries().table().drops);
                !fits)
                return fits.error();
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

} // namespace

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

} // namespace dropledger::audit
