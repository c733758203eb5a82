// What keeps a log from being taken for the whole and unchanged truth, in words.
//
// Sound: without a flaw (flaw.hpp). A log without a signature is sound all the same: whether one is
// needed, the reader decides.
#pragma once

#include "analysis/droplog/integrity.hpp"

#include <string>
#include <vector>

namespace dropledger::droplog {

// "its last line is torn off"; empty where the log is sound.
[[nodiscard]] std::vector<std::string> faults(const Integrity& found);
[[nodiscard]] bool is_sound(const Integrity& found);
// "complete and intact", or "incomplete: 3 lines are missing; …".
[[nodiscard]] std::string soundness_words(const Integrity& found);

} // namespace dropledger::droplog
