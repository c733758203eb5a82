// From a log, the batch's profile and calibration records to the runs that a batch lists.
//
// Of several records each unit gets those that speak for it (calibration/choice.hpp): made by the
// day of the run, for that unit, gate, bench and crop, and named by the log where it names one.
#pragma once

#include "analysis/base/readers/byte_source.hpp"
#include "analysis/batch/runs/tested_run.hpp"
#include "analysis/verdict/profile.hpp"
#include "bench/evidence/logs/log_evidence.hpp"
#include "calibration/record/record.hpp"

#include <string>
#include <vector>

namespace dropledger::evidence {

struct RunRequest {
    std::string file; // name in messages and in the run
    verdict::Profile profile;
    std::vector<calibration::Record> records;
};

struct AuditedRun {
    batch::TestedRun run;
};

// One a channel. Fails where the log cannot be audited, or is of another mode than the profile.
[[nodiscard]] Result<std::vector<AuditedRun>>
runs_of_log(const OpenBytes& open, const RunRequest& request, const LogEvidence& evidence);

// A record as a batch lists it; `file` is its plain name.
[[nodiscard]] batch::UsedCalibration used(const calibration::Record& record, std::string file,
                                          std::string sha256);

// The day a run began, YYYY-MM-DD; empty where its start is no time.
[[nodiscard]] std::string day_of(const std::string& started);

} // namespace dropledger::evidence
