// From a decided batch and its files to a signed certificate.
//
// Issued only where a verification of it finds nothing: one list of rules.
// Assumes: times are handed in. A certificate of a batch that was not accepted is issued only where
// that is asked for; it says so.
#pragma once

#include "analysis/batch/chain/batch.hpp"
#include "bench/evidence/verify/verify.hpp"

#include <functional>
#include <string>
#include <vector>

namespace dropledger::evidence {

struct IssueRequest {
    droplog::PrivateKey key{};
    std::vector<std::string> bench_keys; // hex: logs may be signed by these too
    std::string batch_file;              // its plain name in the folder
    std::string issued;                  // RFC 3339
    std::string valid_until;             // YYYY-MM-DD
    batch::ReportFacts report;
    bool not_accepted_too = false;
    // The printed pages of a certificate that is not signed yet; may be empty: none are printed.
    std::function<std::string(const batch::Certificate&)> print;
};

struct Issued {
    batch::Certificate certificate;
    std::string text;              // the file
    std::string pages;             // as they were printed; empty where none were
    std::vector<Failure> failures; // where there are any, the certificate must not be given out
};

// Fails where the batch is not decided, or not accepted and that was not asked for.
[[nodiscard]] Result<Issued> issue(const batch::Batch& batch, const Folder& folder,
                                   const IssueRequest& request);

} // namespace dropledger::evidence
