// An event as the line that the host gets: section 3.1 of analysis/droplog/README.md.
//
// Assumes: `identity` outlives the lines. DEPTH is always 0: a gate that says light or dark only
// has no depth to tell, and 0 is not mistaken for a measured one.
#pragma once

#include "bench/controller/core/event.hpp"
#include "bench/controller/core/line_text.hpp"

namespace dropledger {
namespace controller {

constexpr uint8_t boot_room = 20;

struct Identity {
    char boot[boot_room] = ""; // letters, digits, dashes
    uint8_t channels = 0;
    const char* firmware = "";
};

[[nodiscard]] const char* text_of(Word word);
void render(const Event& event, uint32_t seq, const Identity& identity, LineText& line);

} // namespace controller
} // namespace dropledger
