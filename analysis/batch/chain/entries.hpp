// An entry of a journal, done to a batch. Private to the room.
#pragma once

#include "analysis/batch/chain/batch.hpp"

#include <nlohmann/json_fwd.hpp>

namespace dropledger::batch {

// `body` with its `kind` and `at`. Fails where the rules forbid it or a member is not as it is
// written; the batch is of no use then.
[[nodiscard]] Status take_entry(Batch& batch, const nlohmann::json& body);

} // namespace dropledger::batch
