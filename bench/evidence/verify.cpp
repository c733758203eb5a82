#include "bench/evidence/verify.hpp"

#include "bench/evidence/checks.hpp"

#include <algorithm>

namespace dropledger::evidence {

namespace {

// In the order of the certificate, each once.
std::vector<std::string> files_of(const batch::Certificate& certificate) {
    std::vector<std::string> files;
    for (const batch::TestedRun& run : certificate.runs)
        if (std::find(files.begin(), files.end(), run.file) == files.end())
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
    check_plan(*certificate, options, failures);
    const std::vector<Failure> of_files = verify_files(*certificate, folder, means);
    failures.insert(failures.end(), of_files.begin(), of_files.end());
    result.logs = files_of(*certificate).size();
    return result;
}

std::vector<Failure> verify_files(const batch::Certificate& certificate, const Folder& folder,
                                  const Means& means) {
    Failures failures;
    const auto profile = check_profile(certificate, folder, failures);
    const Records records = check_calibrations(certificate, folder, failures);
    const LogCheck check{certificate, folder, means, profile, records};
    for (const std::string& file : files_of(certificate))
        check_log_file(check, file, failures);
    check_decision(certificate, profile, means, failures);
    return failures;
}

} // namespace dropledger::evidence
