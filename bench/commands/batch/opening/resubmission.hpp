// Whether units of a new batch stood in another batch before.
//
// Assumes: batch files lie in one folder; another place is not looked at, there the gaps of the run
// counter tell.
#pragma once

#include "analysis/batch/chain/batch.hpp"

#include <optional>
#include <string>
#include <vector>

namespace dropledger::cli {

// The batch in `named`, which must have units of these serials. Where none is named, fails if a
// batch file beside `file` has.
[[nodiscard]] Result<std::optional<batch::EarlierBatch>>
resubmission(const std::string& file, const std::optional<std::string>& named,
             const std::vector<std::string>& serials);

} // namespace dropledger::cli
