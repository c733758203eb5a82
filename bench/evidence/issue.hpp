// From a decided batch and its files to a signed certificate.
//
// Issued only where a verification of it finds nothing: every counted run has an unbroken seal
// chain, is complete, is signed by a key that is known here, and has a calibration that held on its
// day.
// Assumes: times are handed in. A certificate of a batch that was not accepted is issued only where
// that is asked for; it says so.
#pragma once

#include "analysis/batch/batch.hpp"
#include "bench/evidence/verify.hpp"

#include <string>
#include <vector>

namespace dropledger::evidence {

struct IssueRequest {
    droplog::PrivateKey key{};
    std::vector<std::string> bench_keys; // hex: logs may be signed by these too
    std::string issued;                  // RFC 3339
    std::string valid_until;             // YYYY-MM-DD
    bool not_accepted_too = false;
};

struct Issued {
    batch::Certificate certificate;
    std::string text;              // the file
    std::vector<Failure> failures; // where there are any, the certificate must not be given out
};

// Fails where the batch is not decided, or not accepted and that was not asked for.
[[nodiscard]] Result<Issued> issue(const batch::Batch& batch, const Folder& folder,
                                   const IssueRequest& request);

} // namespace dropledger::evidence
