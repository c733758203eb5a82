#include "bench/evidence/runs.hpp"

#include "analysis/audit/audit.hpp"
#include "analysis/base/dates.hpp"
#include "calibration/record/choice.hpp"

#include <fmt/format.h>

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
    const auto gate = calibrated.gates.find({channel.channel, channel.gate});
    if (gate != calibrated.gates.end())
        run.calibrations = calibration::ids_in(gate->second.id);
    run.outcome = channel.judgement.outcome;
    if (const audit::CommandedDrops* const drops = channel.drops()) {
        run.drops = drops->table.drops;
        run.misses = drops->table.miss + drops->table.empty;
    }
    run.corrected_miss = channel.sensor.corrected_miss;
    return {std::move(run), channel.sensor.efficiency.has_value()};
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

std::string day_of(const std::string& started) {
    const std::string day = started.substr(0, std::min<std::size_t>(10, started.size()));
    return is_date(day) ? day : std::string{};
}

} // namespace dropledger::evidence
