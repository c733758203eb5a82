// A batch as the text file NAME.batch.json, schema dropledger/batch-file/1.
//
// Assumes: members stand in a fixed order, so that two states of one batch can be compared line by
// line.
// Undefined when: a member is missing or of another kind, the profile's text does not have its
// hash, or the choice does not follow from serials and seed: refused, naming it.
#pragma once

#include "analysis/batch/batch.hpp"

#include <string>
#include <string_view>

namespace dropledger::batch {

[[nodiscard]] std::string to_text(const Batch& batch);

// `where` is for messages.
[[nodiscard]] Result<Batch> parse_batch(std::string_view text, const std::string& where);

} // namespace dropledger::batch
