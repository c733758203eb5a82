#include "bench/evidence/verify/verify.hpp"

#include "bench/evidence/verify/checks.hpp"

#include <set>

namespace dropledger::evidence {

namespace {

// In the order of the certificate, each once.
std::vector<std::string> files_of(const batch::Certificate& certificate) {
    std::vector<std::string> files;
    std::set<std::string> seen;
    for (const batch::TestedRun& run : certificate.runs)
        if (seen.insert(run.file).second)
            files.push_back(run.file);
    return files;
}

} // namespace

Verification verify(std::string_view text, const Folder& folder, const VerifyOptions& options,
                    const Means& means) {
    Verification result;
    const auto certificate = batch::parse_certificate(text, "certificate");
    if (!certificate) {
        result.failures.push_back({"not_a_certificate", "certificate", certificate.error().what});
        return result;
    }
    result.certificate = *certificate;
    Failures& failures = result.failures;
    check_form(text, *certificate, options, failures);
    check_known(*certificate, options, failures);
    check_report(certificate->report, failures);
    check_revoked(text, *certificate, options, folder, failures);
    const Findings of_files = verify_files(*certificate, folder, means);
    failures.insert(failures.end(), of_files.failures.begin(), of_files.failures.end());
    result.not_checked = left_open(*certificate, options);
    result.not_checked.insert(result.not_checked.end(), of_files.otherwise.begin(),
                              of_files.otherwise.end());
    result.logs = files_of(*certificate).size();
    return result;
}

Findings verify_files(const batch::Certificate& certificate, const Folder& folder,
                      const Means& means) {
    Findings findings;
    Failures& failures = findings.failures;
    if (const auto batch = check_batch(certificate, folder, failures))
        check_follows(certificate, *batch, means, findings);
    const auto profile = check_profile(certificate, failures);
    const Records records = check_calibrations(certificate, folder, failures);
    const LogCheck check{certificate, folder, means, profile, records};
    for (const std::string& file : files_of(certificate))
        check_log_file(check, file, findings);
    check_left_out(check, failures);
    return findings;
}

} // namespace dropledger::evidence
