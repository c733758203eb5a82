#include "bench/commands/batch/batch_commands.hpp"
#include "bench/commands/batch/files/batch_files.hpp"
#include "bench/commands/batch/files/batch_state.hpp"
#include "bench/commands/batch/files/causes.hpp"
#include "bench/commands/shell/usage.hpp"

#include "bench/evidence/logs/runs.hpp"
#include "bench/evidence/verify/check_efficiency.hpp"
#include "bench/io/file_source.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <filesystem>
#include <memory>

namespace dropledger::cli {

namespace fs = std::filesystem;

namespace {

struct AddOptions {
    std::string file;
    std::vector<std::string> logs;
    std::vector<std::string> calibrations;
    std::string reason;
    Signing signing;
    bool uncalibrated = false;
    bool json = false;
};

struct KnownRecord {
    calibration::Record record;
    batch::UsedCalibration entry;
    bool used = false;
};

// Its efficiency must follow from the files beside it, as a verifier will see it.
Status check_follows(const calibration::Record& record, const std::string& file) {
    const fs::path beside = fs::path(file).parent_path();
    const auto folder = folder_on_disk(beside.empty() ? "." : beside.string());
    if (!folder)
        return folder.error();
    const auto failures = evidence::check_efficiency(record, *folder);
    if (failures.empty())
        return Done{};
    return input_error(file, failures.front().what,
                       "calibrate anew from the logs: dropledger calibrate efficiency --write");
}

Result<std::vector<KnownRecord>> read_records(const std::vector<std::string>& files) {
    std::vector<KnownRecord> records;
    for (const std::string& file : files) {
        const auto text = read_file(file);
        if (!text)
            return text.error();
        auto record = calibration::parse_record(text->text, file);
        if (!record)
            return record.error();
        if (const Status follows = check_follows(*record, file); !follows)
            return follows.error();
        batch::UsedCalibration entry =
            evidence::used(*record, fs::path(file).filename().string(), text->sha256);
        records.push_back({*std::move(record), std::move(entry)});
    }
    return records;
}

class Adding {
public:
    Adding(const AddOptions& options, verdict::Profile profile, std::vector<KnownRecord> records)
        : options_(options), profile_(std::move(profile)), records_(std::move(records)) {}

    [[nodiscard]] Status add(const std::string& log);
    // Calibrations that were used go into the batch; one that was not is a mistake of whoever named
    // it.
    [[nodiscard]] Result<batch::Addition> finish();
    [[nodiscard]] std::vector<std::string> take_notes() { return std::move(notes_); }

private:
    [[nodiscard]] Status check_calibrated(const evidence::AuditedRun& run);
    void note_document(const std::string& name, const droplog::Integrity& integrity);
    void note_run(const batch::TestedRun& run);

    const AddOptions& options_;
    verdict::Profile profile_;
    std::vector<KnownRecord> records_;
    batch::Addition addition_;
    std::vector<std::string> notes_;
};

Status Adding::add(const std::string& log) {
    const OpenBytes open = files::open_file(log);
    const std::string name = fs::path(log).filename().string();
    const auto found = evidence::read_evidence(open, log);
    if (!found)
        return found.error();
    if (!found->reading)
        return input_error(log, found->unreadable, "name a droplog");
    evidence::RunRequest request{name, profile_, {}};
    for (const KnownRecord& one : records_)
        request.records.push_back(one.record);
    const auto audited = evidence::runs_of_log(open, request, *found);
    if (!audited)
        return audited.error();
    for (const evidence::AuditedRun& one : *audited) {
        if (const Status calibrated = check_calibrated(one); !calibrated)
            return calibrated;
        note_run(one.run);
        addition_.runs.push_back(one.run);
    }
    note_document(name, found->reading->integrity);
    return Done{};
}

void Adding::note_run(const batch::TestedRun& run) {
    if (run.held_back != batch::HeldBack::no)
        notes_.push_back(fmt::format("{}: unit {}: {}: it can't be within", run.file, run.unit,
                                     row_in(batch::held_back_names, run.held_back).key));
    if (!run.run_number)
        notes_.push_back(fmt::format("{}: it carries no run number; the certificate will say that "
                                     "runs may have been left out",
                                     run.file));
}

Status Adding::check_calibrated(const evidence::AuditedRun& run) {
    const std::string day = evidence::day_of(run.run.started);
    for (KnownRecord& one : records_) {
        const auto& ids = run.run.calibrations;
        if (std::find(ids.begin(), ids.end(), one.record.id) == ids.end())
            continue;
        one.used = true;
        if (day > one.record.expires)
            return usage("--calibration",
                         fmt::format("{} had expired on {}, {} was recorded on {}", one.record.id,
                                     one.record.expires, run.run.file, day),
                         "calibrate anew and run the unit again");
    }
    if (run.run.calibrated)
        return Done{};
    if (!options_.uncalibrated)
        return usage("--calibration",
                     fmt::format("none of a gate's counting speaks for unit {} in {} of {}",
                                 run.run.unit, run.run.file, day),
                     "name the record that was in force (made by that day, for that unit, bench "
                     "and crop); `dropledger batch add --uncalibrated` takes it without one, and "
                     "no certificate can follow");
    notes_.push_back(
        fmt::format("{}: unit {} is judged without a calibration; no certificate can rest on it",
                    run.run.file, run.run.unit));
    return Done{};
}

void Adding::note_document(const std::string& name, const droplog::Integrity& integrity) {
    std::vector<std::string> faults;
    if (!integrity.complete())
        faults.emplace_back("it is incomplete");
    if (!integrity.seals.intact || integrity.seals.count == 0)
        faults.emplace_back("its seals do not hold");
    if (!faults.empty())
        notes_.push_back(fmt::format(
            "{}: {}; no certificate can rest on it. Make it void and run the unit again "
            "(dropledger run --key signs)",
            name, fmt::join(faults, ", ")));
}

Result<batch::Addition> Adding::finish() {
    for (const KnownRecord& one : records_) {
        if (!one.used)
            return usage("--calibration",
                         fmt::format("{} speaks for none of these runs", one.record.id),
                         "it is for another unit, bench, crop or gate, was made after the runs, or "
                         "another speaks "
                         "rather: leave it out");
        addition_.calibrations.push_back(one.entry);
    }
    addition_.reason = options_.reason;
    return std::move(addition_);
}

Result<std::vector<std::string>> add_logs(const AddOptions& options, batch::Batch& batch) {
    auto profile = verdict::parse_profile(batch.profile.text, batch.profile.name);
    if (!profile)
        return profile.error();
    auto records = read_records(options.calibrations);
    if (!records)
        return records.error();
    const auto signer = signer_of(options.signing, batch.rehearsal);
    if (!signer)
        return signer.error();
    Adding adding(options, *std::move(profile), *std::move(records));
    for (const std::string& log : options.logs)
        if (const Status added = adding.add(log); !added)
            return added.error();
    auto addition = adding.finish();
    if (!addition)
        return addition.error();
    if (const Status added = batch::add_runs(batch, *std::move(addition), *signer); !added)
        return added.error();
    return adding.take_notes();
}

Result<int> add(const AddOptions& options) {
    std::vector<std::string> notes;
    auto batch = changed_batch(options.file, [&](batch::Batch& open) -> Status {
        auto added = add_logs(options, open);
        if (!added)
            return added.error();
        notes = *std::move(added);
        return Done{};
    });
    if (!batch)
        return batch.error();
    return deliver_state(*std::move(batch), {.notes = std::move(notes), .json = options.json});
}

struct VoidOptions {
    std::string file;
    std::string run;
    std::optional<std::string> unit;
    std::string cause;
    std::string reason;
    Signing signing;
    bool json = false;
};

Result<int> make_void(const VoidOptions& options) {
    const auto cause = value_named(batch::void_cause_names, options.cause);
    if (!cause)
        return usage("--cause", fmt::format("'{}' is none", options.cause),
                     "one of: " + listed_keys(batch::void_cause_names));
    auto batch = changed_batch(options.file, [&](batch::Batch& open) -> Status {
        const auto signer = signer_of(options.signing, open.rehearsal);
        if (!signer)
            return signer.error();
        return batch::make_void(open, {options.run, options.unit, *cause, options.reason}, *signer);
    });
    if (!batch)
        return batch.error();
    return deliver_state(*std::move(batch), {.json = options.json});
}

void add_void(Command& batch) {
    const auto options = std::make_shared<VoidOptions>();
    batch.subcommand("void", "take a run that was the bench's fault out of the count")
        .option("FILE", options->file, "batch file")
        .required("FILE")
        .option("RUN", options->run, "id of the run, or name of its log")
        .required("RUN")
        .option("--unit", options->unit, "only this unit's part of the run")
        .option("--cause", options->cause,
                "what the bench did wrong: " + listed_keys(batch::void_cause_names))
        .required("--cause")
        .option("--reason", options->reason, "what was seen, in words")
        .required("--reason")
        .option("--key", options->signing.key_file, "key file that signs the entry")
        .required("--key")
        .option("--at", options->signing.at, "in a rehearsal: the time to be stated (RFC 3339)")
        .flag("--json", options->json, "print one JSON object and nothing else")
        .manual("batch_void")
        .runs([options] { return make_void(*options); });
}

} // namespace

void add_batch_add(Command& batch) {
    const auto options = std::make_shared<AddOptions>();
    batch.subcommand("add", "audit logs by the batch's profile and take their runs in")
        .option("FILE", options->file, "batch file")
        .required("FILE")
        .option("LOG", options->logs, "droplogs of chosen units")
        .required("LOG")
        .repeated("--calibration", options->calibrations,
                  "calibration record (TOML); several may be named, each with --calibration")
        .option("--reason", options->reason, "why units are tested again")
        .option("--key", options->signing.key_file, "key file that signs the entry")
        .required("--key")
        .option("--at", options->signing.at, "in a rehearsal: the time to be stated (RFC 3339)")
        .flag("--uncalibrated", options->uncalibrated,
              "take runs without a calibration; no certificate then")
        .flag("--json", options->json, "print one JSON object and nothing else")
        .manual("batch_add")
        .runs([options] { return add(*options); });
    add_void(batch);
}

} // namespace dropledger::cli
