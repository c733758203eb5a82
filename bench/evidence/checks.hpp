// The parts of a verification; each adds what fails to one list. Private to the room.
#pragma once

#include "bench/evidence/verify.hpp"

#include <map>

namespace dropledger::evidence {

using Failures = std::vector<Failure>;

void check_form(std::string_view text, const batch::Certificate& certificate,
                const VerifyOptions& options, Failures& failures);
void check_plan(const batch::Certificate& certificate, const VerifyOptions& options,
                Failures& failures);

// Empty where it is missing or not the certified one.
[[nodiscard]] std::optional<verdict::Profile>
check_profile(const batch::Certificate& certificate, const Folder& folder, Failures& failures);

// By id; those that are missing or not the certified ones are left out.
using Records = std::map<std::string, calibration::Record>;
[[nodiscard]] Records check_calibrations(const batch::Certificate& certificate,
                                         const Folder& folder, Failures& failures);

// All runs of one log.
struct LogCheck {
    const batch::Certificate& certificate;
    const Folder& folder;
    const Means& means;
    const std::optional<verdict::Profile>& profile;
    const Records& records;
};
void check_log_file(const LogCheck& check, const std::string& file, Failures& failures);

// Needs no file but the profile.
void check_decision(const batch::Certificate& certificate,
                    const std::optional<verdict::Profile>& profile, const Means& means,
                    Failures& failures);

} // namespace dropledger::evidence
