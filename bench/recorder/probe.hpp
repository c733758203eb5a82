// Asks whether a bench controller answers on a line: sends `hello`, waits for one.
//
// Assumes: no run is on; nothing is acknowledged and nothing started.
#pragma once

#include "bench/link/transport.hpp"
#include "bench/recorder/protocol/plan/clock.hpp"

#include <cstdint>
#include <optional>
#include <string>

namespace dropledger::recorder {

struct Answer {
    std::uint32_t protocol = 0;
    std::uint32_t channels = 0;
    std::string firmware;
};

// Nothing where no controller answered within `patience`.
[[nodiscard]] std::optional<Answer> probe(link::Transport& link, Clock& clock,
                                          Microseconds patience);

} // namespace dropledger::recorder
