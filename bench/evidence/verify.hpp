// Whether a certificate holds: its form and signature, every file it names, every result it states.
//
// Everything is worked out again from the files alone, offline: logs are audited by the certified
// profile with the certified calibrations, and the decision is taken anew by the plan. Every
// failure is reported, not only the first. What is not the certified file (its hash differs) is not
// audited.
// Assumes: files lie in one folder under the names in the certificate, a profile as NAME.toml
// (those that come with the program need not). That the key is the bench's own must be known from
// elsewhere.
#pragma once

#include "analysis/batch/batch.hpp"
#include "bench/evidence/folder.hpp"
#include "bench/evidence/runs.hpp"

#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::evidence {

struct Failure {
    std::string code;  // stable: log_changed, expired, …
    std::string where; // a file, a run, a part of the certificate
    std::string what;  // for a person
};

struct VerifyOptions {
    std::string today;                     // YYYY-MM-DD
    std::optional<std::string> public_key; // hex: the only one that is trusted
    // Of the batch, in their order: the choice is redone; may be empty
    std::vector<std::string> serials;
};

// How what takes long is worked out; a test that verifies thousands of times keeps what it has
// seen.
struct Means {
    std::function<Result<LogEvidence>(const OpenBytes&, const std::string&)> read = read_evidence;
    std::function<Result<std::vector<AuditedRun>>(const OpenBytes&, const RunRequest&,
                                                  const LogEvidence&)>
        audit = runs_of_log;
    std::function<batch::CertifiedStatistics(std::span<const batch::TestedRun>,
                                             std::optional<double>, Confidence)>
        statistics = batch::statistics_of;
};

struct Verification {
    std::optional<batch::Certificate> certificate; // empty where it cannot be read
    std::vector<Failure> failures;                 // in the order of the checks
    std::size_t logs = 0;                          // looked at
    [[nodiscard]] bool holds() const { return certificate && failures.empty(); }
};

[[nodiscard]] Verification verify(std::string_view text, const Folder& folder,
                                  const VerifyOptions& options, const Means& means = {});

// Its second half: what the files in the folder say against a certificate already read.
[[nodiscard]] std::vector<Failure> verify_files(const batch::Certificate& certificate,
                                                const Folder& folder, const Means& means = {});

} // namespace dropledger::evidence
