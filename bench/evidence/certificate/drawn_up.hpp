// The certificate that a batch file gives: every member follows from the batch, a fixed list of
// sentences, and the few facts of its issue.
//
// Drawn up to be signed, and again to verify: what a certificate says beyond it, or otherwise, was
// put there by another hand.
#pragma once

#include "analysis/base/version.hpp"
#include "analysis/batch/certificate/certificate.hpp"
#include "analysis/batch/chain/batch.hpp"

#include <string>

namespace dropledger::evidence {

// What does not follow from the batch.
struct IssueFacts {
    std::string batch_file{}; // its plain name in the folder of evidence
    std::string issued{};     // RFC 3339
    std::string valid_until{};
    std::string by_program{program_and_version()};
    std::string pages_sha256{}; // may be empty
    batch::ReportFacts report{};
};

// Fails where the batch is not decided or its profile cannot be read. Neither key nor signature is
// filled in.
[[nodiscard]] Result<batch::Certificate> drawn_up(const batch::Batch& batch,
                                                  const IssueFacts& facts);

} // namespace dropledger::evidence
