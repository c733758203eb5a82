// The identity of a run that follows from what it was made of: the same again is the same run.
#pragma once

#include <string>
#include <string_view>

namespace dropledger::droplog {

// A UUID (RFC 9562, version 8: made by a rule of one's own) from the SHA-256 of the text.
[[nodiscard]] std::string run_id_of(std::string_view text);

} // namespace dropledger::droplog
