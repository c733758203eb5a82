// Which severity the next batch is inspected with, from the batches before it.
//
// Assumes: batches of one producer and product, in the order of their inspection, production
// steady. Batches not decided yet, and those by a plan that is not the tables', do not count and
// are named.
#pragma once

#include "analysis/batch/chain/batch.hpp"

#include <span>
#include <string>

namespace dropledger::batch {

struct SeverityChoice {
    Severity severity = Severity::normal;
    bool stopped = false; // sampling is discontinued until the producer has put things right
    std::string reason;   // a sentence
};

// Reduced inspection needs the consent of the responsible authority.
[[nodiscard]] Result<SeverityChoice> severity_after(std::span<const Batch> earlier,
                                                    bool reduced_permitted);

} // namespace dropledger::batch
