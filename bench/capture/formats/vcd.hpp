// Reads a value change dump: which of its signals changed when.
//
// Assumes: bounded tokens; signals of any width, of which one bit is asked for (`bus[3]`).
// Undefined when: the text ends in the middle of a word, a wanted signal is x or z once it had a
// level, time goes back: an error that names the line.
// Source: IEEE 1364-2005, clause 18 (4-state), written from memory of its text.
#pragma once

#include "bench/capture/formats/change.hpp"

#include "analysis/base/readers/byte_source.hpp"

#include <cstdint>
#include <span>
#include <string>

namespace dropledger::capture {

struct Extent {
    std::int64_t first_ps = 0; // the first time stamp
    std::int64_t last_ps = 0;
    std::uint64_t changes = 0; // of the wires asked for
};

// `wires`: names as the dump has them, with or without the scopes before them (`top.gates.D0`),
// and with a bit where the signal is wider. `where` is for messages.
[[nodiscard]] Result<Extent> read_vcd(ByteSource& source, const std::string& where,
                                      std::span<const std::string> wires, ChangeSink& sink);

} // namespace dropledger::capture
