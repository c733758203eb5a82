// The parts of a verification; each adds what fails to one list. Private to the room.
#pragma once

#include "analysis/verdict/profile.hpp"
#include "bench/evidence/verify/verify.hpp"

#include <map>

namespace dropledger::evidence {

using Failures = std::vector<Failure>;

void check_form(std::string_view text, const batch::Certificate& certificate,
                const VerifyOptions& options, Failures& failures);
// What the verifier knows from elsewhere: keys, serials, the opening, the buyer's text.
void check_known(const batch::Certificate& certificate, const VerifyOptions& options,
                 Failures& failures);
[[nodiscard]] std::vector<std::string> left_open(const batch::Certificate& certificate,
                                                 const VerifyOptions& options);

// Empty where the batch file is missing, broken or not the certified one.
[[nodiscard]] std::optional<batch::Batch> check_batch(const batch::Certificate& certificate,
                                                      const Folder& folder, Failures& failures);
// The order of events, and every member against what the batch gives.
void check_follows(const batch::Certificate& certificate, const batch::Batch& batch,
                   const Means& means, Findings& findings);

// Empty where its text cannot be read.
[[nodiscard]] std::optional<verdict::Profile> check_profile(const batch::Certificate& certificate,
                                                            Failures& failures);

// By id; those that are missing or not the certified ones are left out.
using Records = std::map<std::string, calibration::Record>;
[[nodiscard]] Records check_calibrations(const batch::Certificate& certificate,
                                         const Folder& folder, Failures& failures);

// Statements of the issuer that take the certificate back: given, in the folder, or in the batch
// file behind the certified entry.
void check_revoked(std::string_view text, const batch::Certificate& certificate,
                   const VerifyOptions& options, const Folder& folder, Failures& failures);
// What the issuer states of himself is plain text, a line each.
void check_report(const batch::ReportFacts& report, Failures& failures);

// All runs of one log.
struct LogCheck {
    const batch::Certificate& certificate;
    const Folder& folder;
    const Means& means;
    const std::optional<verdict::Profile>& profile;
    const Records& records;
};
void check_log_file(const LogCheck& check, const std::string& file, Findings& findings);

// Logs of chosen units in the folder that the certificate does not list.
void check_left_out(const LogCheck& check, Failures& failures);

} // namespace dropledger::evidence
