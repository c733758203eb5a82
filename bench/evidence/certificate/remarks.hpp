// The sentences of a certificate, out of fixed lists: each follows from what stands in it.
#pragma once

#include "analysis/batch/certificate/certificate.hpp"

#include <string>
#include <vector>

namespace dropledger::evidence {

// What a reader must know before the decision: a rehearsal, how the units were chosen, what was
// taken out, missed, made under other conditions, or rests on an issuer's word.
[[nodiscard]] std::vector<std::string> remarks_on(const batch::Certificate& certificate);

// What the certificate does not say; the last one is what no program can prevent.
[[nodiscard]] std::vector<std::string> not_said(const batch::Certificate& certificate);

[[nodiscard]] std::vector<std::string> cautions();

} // namespace dropledger::evidence
