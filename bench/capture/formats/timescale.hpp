// The unit that a dump's time stamps count, as picoseconds.
//
// Source: IEEE 1364-2005, 18.2.3.9: 1, 10 or 100 of s, ms, us, ns, ps or fs.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

namespace dropledger::capture {

class Timescale {
public:
    // "1ns", "100 us"; nothing where it is none.
    [[nodiscard]] static std::optional<Timescale> of(std::string_view text);

    // Cut to whole picoseconds; nothing beyond `longest_ps`.
    [[nodiscard]] std::optional<std::int64_t> ps_of(std::uint64_t count) const;

private:
    std::uint64_t ps_ = 1;     // a count is so many picoseconds,
    std::uint64_t counts_ = 1; // or so many counts are one
};

} // namespace dropledger::capture
