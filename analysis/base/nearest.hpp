// The known word that a mistyped one was meant to be.
//
// Undefined when: none is near: more than a third of the word's letters would have to change.
// Source: F. J. Damerau 1964, V. I. Levenshtein 1966: edits of one letter, and neighbours that change
// places; the row-by-row computation is from memory.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

namespace dropledger {

[[nodiscard]] std::optional<std::string_view> nearest(std::string_view word,
                                                      const std::vector<std::string_view>& known);

} // namespace dropledger
