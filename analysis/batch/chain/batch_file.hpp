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

// `where` is for messages. `until`: the batch as it was when its last entry had this hash; the whole
// file where that is empty or no entry's.
[[nodiscard]] Result<Batch> parse_batch(std::string_view text, const std::string& where,
                                        std::string_view until = {});

} // namespace dropledger::batch
