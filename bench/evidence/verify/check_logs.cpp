#include "analysis/batch/runs/json_parts.hpp"
#include "bench/evidence/verify/checks.hpp"
#include "bench/evidence/verify/nearness.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>

namespace dropledger::evidence {

using batch::TestedRun;

namespace {

// One log against the runs that the certificate lists of it.
class LogChecker {
public:
    LogChecker(const LogCheck& check, const std::string& file, Findings& findings)
        : check_(check), file_(file), failures_(findings.failures), otherwise_(findings.otherwise) {
        for (const TestedRun& run : check.certificate.runs)
            if (run.file == file)
                runs_.push_back(&run);
        counted_ = std::any_of(runs_.begin(), runs_.end(),
                               [](const TestedRun* run) { return run->counted(); });
    }

    void check();

private:
    void fail(const char* code, std::string what) {
        failures_.push_back({code, file_, std::move(what)});
    }
    [[nodiscard]] const TestedRun& first() const { return *runs_.front(); }
    void check_hash(const LogEvidence& found);
    void check_document(const droplog::Reading& reading, bool is_certified_log);
    void check_signature(const droplog::Integrity& integrity);
    void check_calibrations();
    [[nodiscard]] std::optional<std::vector<calibration::Record>> records() const;
    void audit_again(const LogEvidence& found);
    void compare(const TestedRun& stated, const std::vector<AuditedRun>& found);
    [[nodiscard]] bool same_run(TestedRun again, const TestedRun& stated);
    [[nodiscard]] bool same_miss(const TestedRun& again, const TestedRun& stated);

    const LogCheck& check_;
    const std::string& file_;
    Failures& failures_;
    std::vector<std::string>& otherwise_;
    std::vector<const TestedRun*> runs_;
    bool counted_ = false;
};

void LogChecker::check() {
    if (!is_plain_name(file_) || !check_.folder.holds(file_)) {
        fail("log_missing", fmt::format("the log of run {} is not in the folder", first().run));
        return;
    }
    const auto found = check_.means.read(check_.folder.open(file_), file_);
    if (!found) {
        fail("log_missing", found.error().what);
        return;
    }
    const bool is_certified_log = found->sha256 == first().sha256;
    check_hash(*found);
    if (found->reading)
        check_document(*found->reading, is_certified_log);
    else
        fail("log_unreadable", found->unreadable);
    if (counted_) // of a void run only that its log and its outcome are the listed ones
        check_calibrations();
    if (is_certified_log && found->reading)
        audit_again(*found);
}

void LogChecker::check_hash(const LogEvidence& found) {
    for (const TestedRun* run : runs_)
        if (run->sha256 != first().sha256 || run->run != first().run)
            fail("certificate_contradicts",
                 "two runs that the certificate lists in this log state two logs");
    if (found.sha256 == first().sha256)
        return;
    const auto& runs = check_.certificate.runs;
    const auto other = std::find_if(
        runs.begin(), runs.end(), [&](const TestedRun& run) { return run.sha256 == found.sha256; });
    if (other != runs.end())
        fail("log_mixed_up",
             fmt::format("it holds the log of run {} of unit {}, which is listed as {}", other->run,
                         other->unit, other->file));
    else
        fail("log_changed",
             fmt::format("its SHA-256 is {}, certified was {}", found.sha256, first().sha256));
}

void LogChecker::check_document(const droplog::Reading& reading, bool is_certified_log) {
    const droplog::Integrity& integrity = reading.integrity;
    if (!counted_ && is_certified_log)
        return;
    if (integrity.torn_tail || !integrity.close_reason)
        fail("log_truncated", fmt::format("it breaks off after {} lines, without the @close line",
                                          integrity.lines.total()));
    else if (!integrity.complete())
        fail("log_incomplete", "lines are missing from the run, or came out of order");
    if (!integrity.seals.intact)
        fail("seal_broken",
             fmt::format("the seal in line {} does not hold for the lines from {} on",
                         integrity.seals.first_bad_line.value(),
                         integrity.seals.first_bad_block_start));
    else if (integrity.seals.count == 0)
        fail("seal_missing", "no line of it is sealed");
    check_signature(integrity);
    if (!is_certified_log)
        return;
    if (reading.header.run_id != first().run || integrity.last_seal != first().last_seal)
        fail("certificate_contradicts",
             "the certificate states another run id or last seal for this very log");
}

void LogChecker::check_signature(const droplog::Integrity& integrity) {
    if (integrity.bad_signature)
        fail("log_bad_signature", "its signature does not fit its last seal");
    else if (!integrity.is_signed)
        fail("log_unsigned", "it is not signed");
    else if (integrity.public_key != first().signed_by)
        fail("log_key_differs", fmt::format("it is signed by the key {}, certified was {}",
                                            integrity.public_key, first().signed_by));
}

void LogChecker::check_calibrations() {
    for (const TestedRun* run : runs_)
        for (const std::string& id : run->calibrations) {
            const auto& listed = check_.certificate.calibrations;
            const auto found =
                std::find_if(listed.begin(), listed.end(),
                             [&](const batch::UsedCalibration& one) { return one.id == id; });
            const std::string day = day_of(run->started);
            if (found == listed.end())
                fail("calibration_missing",
                     fmt::format("calibration {} is not listed in the certificate", id));
            else if (day.empty() || day > found->expires)
                fail("calibration_expired",
                     fmt::format("calibration {} had expired on {}, the run of unit {} began on {}",
                                 id, found->expires, run->unit,
                                 day.empty() ? "an unknown day" : day));
        }
}

// Empty where one of them could not be had: then nothing can be worked out again.
std::optional<std::vector<calibration::Record>> LogChecker::records() const {
    std::map<std::string, calibration::Record> wanted;
    for (const TestedRun* run : runs_)
        for (const std::string& id : run->calibrations) {
            const auto found = check_.records.find(id);
            if (found == check_.records.end())
                return std::nullopt;
            wanted.insert(*found);
        }
    std::vector<calibration::Record> all;
    all.reserve(wanted.size());
    for (auto& [id, record] : wanted)
        all.push_back(std::move(record));
    return all;
}

void LogChecker::audit_again(const LogEvidence& found) {
    auto used = records();
    if (!check_.profile || !used)
        return;
    const auto runs = check_.means.audit(check_.folder.open(file_),
                                         {file_, *check_.profile, *std::move(used)}, found);
    if (!runs) {
        fail("outcome_differs", runs.error().message());
        return;
    }
    for (const TestedRun* stated : runs_)
        compare(*stated, *runs);
}

// Both have a share of misses with the overlooked seeds put back, and it is near enough the same.
bool LogChecker::same_miss(const TestedRun& again, const TestedRun& stated) {
    const auto& a = again.corrected_miss;
    const auto& b = stated.corrected_miss;
    if (!a || !b || !a->interval || !b->interval)
        return false;
    const std::array<std::pair<double, double>, 3> numbers{
        {{a->value, b->value},
         {a->interval->low, b->interval->low},
         {a->interval->high, b->interval->high}}};
    std::vector<std::string> sentences;
    for (const auto& [found, certified] : numbers) {
        const Nearness near = nearness(check_.certificate, found, certified);
        if (near == Nearness::differs)
            return false;
        if (near == Nearness::by_another_version)
            sentences.push_back(told(check_.certificate,
                                     fmt::format("corrected_miss of unit {}", stated.unit), found,
                                     certified));
    }
    otherwise_.insert(otherwise_.end(), sentences.begin(), sentences.end());
    return true;
}

// The same but for last digits; what the batch adds is not of the log.
bool LogChecker::same_run(TestedRun again, const TestedRun& stated) {
    again.taken_out = stated.taken_out;
    again.reason = stated.reason;
    again.calibrations = stated.calibrations;
    if (same_miss(again, stated)) {
        again.corrected_miss->value = stated.corrected_miss->value;
        again.corrected_miss->interval = stated.corrected_miss->interval;
    }
    return batch::json_of(again) == batch::json_of(stated);
}

void LogChecker::compare(const TestedRun& stated, const std::vector<AuditedRun>& found) {
    const auto again = std::find_if(found.begin(), found.end(), [&](const AuditedRun& one) {
        return one.run.unit == stated.unit && one.run.channel == stated.channel;
    });
    if (again == found.end()) {
        fail("outcome_differs",
             fmt::format("unit {} is not in channel {} of this log", stated.unit, stated.channel));
        return;
    }
    const TestedRun& run = again->run;
    if (stated.counted() && !run.calibrated)
        fail("uncalibrated",
             fmt::format("the gate that judged unit {} has no calibration of its counting",
                         stated.unit));
    if (stated.counted() && run.calibrations != stated.calibrations)
        fail("calibration_foreign",
             fmt::format("calibrations {} speak for unit {}, the certificate lists {}",
                         fmt::join(run.calibrations, ", "), stated.unit,
                         fmt::join(stated.calibrations, ", ")));
    if (!same_run(run, stated))
        fail("outcome_differs",
             fmt::format("audited again, unit {} is {} with {} misses of {} "
                         "drops; the certificate says {} with {} of {}, or another time, boot, "
                         "number or condition",
                         stated.unit, verdict::name_of(run.outcome), run.misses, run.drops,
                         verdict::name_of(stated.outcome), stated.misses, stated.drops));
}

} // namespace

void check_log_file(const LogCheck& check, const std::string& file, Findings& findings) {
    LogChecker(check, file, findings).check();
}

} // namespace dropledger::evidence