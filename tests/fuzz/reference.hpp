// The format document again, in the plainest way: whole log in memory, one line after the other,
// nothing shared with the reader but number and field parsing. What the reader says must equal what
// this says.
#pragma once

#include "analysis/droplog/integrity.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace reference {

// Bit by bit, as the polynomial is defined.
[[nodiscard]] std::uint16_t crc16(std::string_view bytes);

struct Line {
    bool damaged = true;
    bool known = false;         // the name
    bool extra = false;         // more fields than its name has
    bool counts_in_seq = false; // a controller line with SEQ and TICK
    std::string name;
    std::string body;
    std::vector<std::string> fields; // the name first
    std::uint32_t seq = 0;
    std::uint32_t tick_us = 0;
};
[[nodiscard]] Line line(std::string_view text_without_lf);

// Nothing where the reader has to refuse the log (no droplog line, another version, two runs).
[[nodiscard]] std::optional<dropledger::droplog::Integrity> integrity(std::string_view log);

// Every finding as text, for comparison and for a person.
[[nodiscard]] std::string described(const dropledger::droplog::Integrity& integrity);

} // namespace reference
