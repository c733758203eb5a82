// Whether a certificate holds: its form and signature, every file it names, every result it states.
//
// Everything is worked out again from the files alone, offline: the batch file's chain is followed,
// the certificate is drawn up anew from it and compared member by member, the logs are audited by
// the certified profile with the certified calibrations. Every failure is reported, not only the
// first. What is not the certified file (its hash differs) is not audited.
// Assumes: files lie in one folder under the names in the certificate. Whose keys they are must be
// known from elsewhere.
#pragma once

#include "analysis/base/enum_names.hpp"
#include "analysis/batch/certificate/certificate.hpp"
#include "analysis/batch/chain/batch.hpp"
#include "bench/evidence/certificate/drawn_up.hpp"
#include "bench/evidence/logs/folder.hpp"
#include "bench/evidence/logs/runs.hpp"

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

// What a key may sign.
enum class KeyRole : std::uint8_t {
    issuer, // the certificate, and entries of the batch file
    bench,  // logs, and entries of the batch file
};

struct TrustedKey {
    KeyRole role = KeyRole::issuer;
    std::string hex;
};

struct VerifyOptions {
    std::string today;            // YYYY-MM-DD
    std::vector<TrustedKey> keys; // the only ones that are trusted; none: nobody said whose
    // Of the batch, in their order, as the verifier knows them; may be empty
    std::vector<std::string> serials;
    std::string opening;    // hash of the batch file's first entry, as it was told; may be empty
    std::string buyer_text; // that the buyer gave; may be empty
    std::vector<std::string> revocations; // texts of statements that the verifier was given
    bool rehearsal = false;               // a rehearsal may hold
};

// How what takes long is worked out; a test that verifies thousands of times keeps what it has
// seen.
struct Means {
    std::function<Result<LogEvidence>(const OpenBytes&, const std::string&)> read = read_evidence;
    std::function<Result<std::vector<AuditedRun>>(const OpenBytes&, const RunRequest&,
                                                  const LogEvidence&)>
        audit = runs_of_log;
    std::function<Result<batch::Certificate>(const batch::Batch&, const IssueFacts&)> draw =
        drawn_up;
};

struct Verification {
    std::optional<batch::Certificate> certificate; // empty where it cannot be read
    std::vector<Failure> failures;                 // in the order of the checks
    std::vector<std::string> not_checked;          // sentences: what the verifier left open
    std::size_t logs = 0;                          // looked at
    [[nodiscard]] bool holds() const { return certificate && failures.empty(); }
};

[[nodiscard]] Verification verify(std::string_view text, const Folder& folder,
                                  const VerifyOptions& options, const Means& means = {});

struct Findings {
    std::vector<Failure> failures; // in the order of the checks
    std::vector<std::string>
        otherwise; // sentences: what another version had worked out (nearness.hpp)
};

// Its second half: what the files in the folder say against a certificate already read.
[[nodiscard]] Findings verify_files(const batch::Certificate& certificate, const Folder& folder,
                                    const Means& means = {});

} // namespace dropledger::evidence
