#include "bench/evidence/logs/runs.hpp"

#include "analysis/audit/audit.hpp"
#include "analysis/base/dates.hpp"
#include "analysis/droplog/reasons.hpp"
#include "calibration/record/choice.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <memory>

namespace dropledger::evidence {

namespace {

using audit::AuditReport;
using audit::Calibrated;
using audit::ChannelReport;

// The same, and what it answered last is kept.
audit::Calibrate noted(audit::Calibrate calibrate, std::shared_ptr<Calibrated> answer) {
    return [calibrate = std::move(calibrate), answer = std::move(answer)](
               const droplog::Header& header, ledger::RunSetup& setup) -> Result<Calibrated> {
        auto result = calibrate(header, setup);
        if (result)
            *answer = *result;
        return result;
    };
}

audit::ChooseProfile only(const verdict::Profile& profile, const std::string& file) {
    return
        [profile, file](const droplog::Header&, ledger::Mode mode) -> Result<audit::ProfileChoice> {
            if (mode != profile.mode)
                return input_error(
                    "",
                    fmt::format("the run is in {} mode, the batch's profile '{}' judges {} mode",
                                ledger::name_of(mode), profile.name, ledger::name_of(profile.mode)),
                    "test the units as the batch's profile asks");
            return audit::ProfileChoice{profile, ""};
        };
}

std::string stated(const droplog::Header& header, const char* key) {
    const std::string* const found = header.find(key);
    return found == nullptr ? std::string{} : *found;
}

batch::RunConditions conditions_of(const droplog::Header& header, const LogStory& story) {
    return {.bench = stated(header, "bench"),
            .operated_by = stated(header, "operator"),
            .firmware = story.firmware,
            .crop = stated(header, "crop"),
            .seed_lot = stated(header, "seed_lot"),
            .thousand_seed_mass_mg = stated(header, "thousand_seed_mass_mg"),
            .mode = stated(header, "mode"),
            .spacing_um = stated(header, "spacing_um"),
            .count = stated(header, "count"),
            .rate_per_m_milli = stated(header, "rate_per_m_milli"),
            .speed_um_s = stated(header, "speed_um_s")};
}

bool is_simulated(const droplog::Header& header, const LogStory& story) {
    return story.firmware.starts_with("virtual") ||
           std::any_of(header.remarks.begin(), header.remarks.end(),
                       [](const std::string& remark) { return remark.starts_with("simulated"); });
}

batch::HeldBack held_back(const AuditReport& audit, int channel) {
    const auto& reason = audit.integrity.close_reason;
    if (!reason || !droplog::ran_its_course(*reason))
        return batch::HeldBack::halted_early;
    for (const audit::Contradicted& found : audit.contradictions)
        if (found.kind == audit::Contradiction::calibration_contradicted &&
            found.channel.value_or(channel) == channel)
            return batch::HeldBack::calibration_contradicted;
    return batch::HeldBack::no;
}

void add_story(batch::TestedRun& run, const droplog::Header& header, const LogStory& story) {
    run.ended = story.ended_s ? rfc3339(*story.ended_s) : "";
    run.boots = story.boots;
    const auto stream = story.streams.find(run.channel);
    run.stream = stream == story.streams.end() ? "" : stream->second;
    run.run_number = header.number("run_number");
    run.previous_seal = stated(header, "previous_seal");
    run.conditions = conditions_of(header, story);
    run.simulated = is_simulated(header, story);
}

AuditedRun run_of(const AuditReport& audit, const ChannelReport& channel,
                  const Calibrated& calibrated, const LogEvidence& evidence) {
    batch::TestedRun run;
    run.unit = channel.unit;
    run.channel = channel.channel;
    run.run = audit.run_id;
    run.file = audit.file;
    run.sha256 = evidence.sha256;
    run.last_seal = audit.integrity.last_seal;
    run.signed_by = audit.integrity.is_signed ? audit.integrity.public_key : "";
    run.started = audit.started;
    add_story(run, audit.header, evidence.story);
    const auto gate = calibrated.gates.find({channel.channel, channel.gate});
    if (gate != calibrated.gates.end())
        run.calibrations = calibration::ids_in(gate->second.id);
    run.held_back = held_back(audit, channel.channel);
    run.outcome = channel.judgement.outcome;
    if (run.held_back != batch::HeldBack::no && run.outcome == verdict::Outcome::within)
        run.outcome = verdict::Outcome::undecided;
    if (const audit::CommandedDrops* const drops = channel.drops()) {
        run.drops = drops->table.drops;
        run.misses = drops->table.miss + drops->table.empty;
    }
    run.corrected_miss = channel.sensor.corrected_miss;
    for (const verdict::Criterion& one : channel.judgement.criteria)
        run.limits.push_back({one.limit, one.estimate, one.outcome});
    run.calibrated = channel.sensor.efficiency.has_value();
    run.whole = audit.integrity.complete() && audit.integrity.seals.intact &&
                audit.integrity.seals.count > 0;
    return {std::move(run)};
}

} // namespace

Result<std::vector<AuditedRun>> runs_of_log(const OpenBytes& open, const RunRequest& request,
                                            const LogEvidence& evidence) {
    const auto calibrated = std::make_shared<Calibrated>();
    audit::AuditOptions how;
    how.file = request.file;
    how.choose_profile = only(request.profile, request.file);
    how.calibrate = noted(calibration::choosing_from(request.records), calibrated);
    const auto audit = audit::audit_log(open, how);
    if (!audit)
        return audit.error();
    std::vector<AuditedRun> runs;
    for (const ChannelReport& channel : audit->channels)
        runs.push_back(run_of(*audit, channel, *calibrated, evidence));
    return runs;
}

namespace {

std::string holds_for(const calibration::Record& record) {
    const calibration::HoldsFor& held = record.holds_for;
    const auto part = [](const char* name, const std::string& value) {
        return value.empty() ? std::string{} : fmt::format(", {} {}", name, value);
    };
    const bool benchs_gate = held.gate > 0 && !held.bench.empty();
    return fmt::format("gate {}{}{}{}", held.gate, part("bench", held.bench),
                       benchs_gate ? ", whichever unit hangs on it" : part("unit", held.unit),
                       part("crop", held.crop));
}

batch::RestsOn rests_on(const calibration::Record& record) {
    const auto& source = record.efficiency_source;
    if (!source || !source->figures)
        return batch::RestsOn::typed;
    const bool of_logs = std::holds_alternative<calibration::TwoGateCount>(*source->figures) &&
                         std::any_of(record.inputs.begin(), record.inputs.end(),
                                     [](const auto& input) { return input.channel.has_value(); });
    return of_logs ? batch::RestsOn::logs : batch::RestsOn::figures;
}

} // namespace

std::string day_of(const std::string& started) {
    const std::string day = started.substr(0, std::min<std::size_t>(10, started.size()));
    return is_date(day) ? day : std::string{};
}

batch::UsedCalibration used(const calibration::Record& record, std::string file,
                            std::string sha256) {
    batch::UsedCalibration entry{record.id,      std::move(file),   std::move(sha256),
                                 record.expires, holds_for(record), {}};
    entry.found.efficiency = record.efficiency;
    if (const auto& source = record.efficiency_source) {
        entry.found.found_by = row_in(calibration::found_by_names, source->found_by).key;
        entry.found.rests_on = rests_on(record);
        entry.found.figures = source->figures ? calibration::words_of(*source->figures) : "";
    }
    for (const calibration::InputFile& input : record.inputs)
        entry.found.inputs.push_back(input.file.substr(input.file.find_last_of('/') + 1));
    return entry;
}

} // namespace dropledger::evidence
