#include "analysis/batch/chain/take_runs.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::batch {

namespace {

bool holds(const std::vector<std::string>& list, const std::string& item) {
    return std::find(list.begin(), list.end(), item) != list.end();
}

bool of_one_log(const TestedRun& a, const TestedRun& b) {
    return a.file == b.file && a.sha256 == b.sha256 && a.run == b.run && a.channel != b.channel;
}

// A log that is in the batch already, in any disguise. Channels of one log come together: they
// are the runs from `first` on.
Status check_new_log(const Batch& batch, const TestedRun& run, std::size_t first) {
    for (std::size_t i = 0; i < batch.runs.size(); ++i) {
        const TestedRun& known = batch.runs[i];
        if (i >= first && of_one_log(known, run))
            continue;
        if (known.sha256 == run.sha256)
            return usage_error(run.file,
                               fmt::format("this log is in the batch already, as {}", known.file),
                               "add each log once");
        if (known.run == run.run)
            return usage_error(
                run.file,
                fmt::format("its run {} is in the batch already, as {}", run.run, known.file),
                "add each run once");
        if (known.file == run.file)
            return usage_error(run.file, "another log of this name is in the batch",
                               "name logs differently: a certificate finds them by name");
    }
    return Done{};
}

// The reason that is written beside the run.
Result<std::string> reason_of_another(const Batch& batch, const TestedRun& run,
                                      const std::string& reason) {
    const Standing found = standing({std::span(&run.unit, 1), batch.runs, batch.pooled_runs});
    if (!found.untested.empty())
        return reason;
    if (!found.undecided.empty())
        return reason.empty() ? std::string{"the runs before were undecided"} : reason;
    if (reason.empty())
        return usage_error(run.file, fmt::format("unit {} has been tested already", run.unit),
                           "say why it is tested again with `reason`; both runs count");
    return reason;
}

// A second sample is begun only where the first one is in doubt.
Status check_sample(const Batch& batch, const TestedRun& run) {
    const Tested first = first_sample(batch.plan, batch.tested());
    const bool in_first =
        std::find(first.chosen.begin(), first.chosen.end(), run.unit) != first.chosen.end();
    if (in_first || in_doubt(batch.plan, batch.tested()))
        return Done{};
    const auto begun = [&](const TestedRun& one) {
        return std::find(first.chosen.begin(), first.chosen.end(), one.unit) == first.chosen.end();
    };
    if (std::any_of(batch.runs.begin(), batch.runs.end(), begun))
        return Done{};
    return usage_error(run.file,
                       fmt::format("unit {} is of the second sample, and the first does not call "
                                   "for it",
                                   run.unit),
                       "test the whole first sample: only where it is in doubt the second counts");
}

Status check_run(const Batch& batch, const TestedRun& run) {
    if (run.unit.empty())
        return usage_error(run.file,
                           fmt::format("channel {} does not say which unit it was", run.channel),
                           "name the unit when you record");
    if (holds(batch.chosen, run.unit))
        return check_sample(batch, run);
    const bool known = holds(batch.serials, run.unit);
    return usage_error(run.file,
                       fmt::format("unit {} {}", run.unit,
                                   known ? "was not chosen for the test" : "is not of this batch"),
                       "test the units that the random choice named: `batch show`");
}

} // namespace

Status take_calibration(Batch& batch, const UsedCalibration& calibration) {
    for (const UsedCalibration& known : batch.calibrations) {
        if (known.sha256 == calibration.sha256 && known.id == calibration.id)
            return Done{};
        if (known.id == calibration.id || known.file == calibration.file)
            return usage_error(
                calibration.file,
                fmt::format("the batch knows another calibration of this {}",
                            known.id == calibration.id ? "id" : "file name"),
                "give each record an id and a name of its own, and do not change one in use");
    }
    batch.calibrations.push_back(calibration);
    return Done{};
}

Status take_runs(Batch& batch, std::vector<TestedRun> runs, const std::string& reason) {
    const std::size_t first = batch.runs.size();
    for (TestedRun& run : runs) {
        if (const Status fresh = check_new_log(batch, run, first); !fresh)
            return fresh;
        if (const Status fits = check_run(batch, run); !fits)
            return fits;
        auto why = reason_of_another(batch, run, reason);
        if (!why)
            return why.error();
        run.reason = *std::move(why);
        batch.runs.push_back(run);
    }
    return Done{};
}

} // namespace dropledger::batch
