// A batch as the text file NAME.batch.json, schema dropledger/batch-file/2: its journal, an entry
// a line.
//
// Undefined when: the chain of entries is broken, a signature does not fit, or an entry is none that
// can follow: refused, naming it.
#pragma once

#include "analysis/batch/chain/batch.hpp"

#include <string>
#include <string_view>

namespace dropledger::batch {

[[nodiscard]] std::string to_text(const Batch& batch);

// `where` is for messages.
[[nodiscard]] Result<Batch> parse_batch(std::string_view text, const std::string& where);

} // namespace dropledger::batch
