// Bounds what is kept of a wire that brings junk without end: so many pieces at once and so many a
// second; the rest is counted and told.
//
// Assumes: a wire of 115,200 bits a second that carries nothing but noise ends a piece about 45
// times a second (one byte in 256 is an LF): all of that is kept, 2,000 at once and 200 a second.
// Units: times are µs of the steady clock.
#pragma once

#include "analysis/base/units.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace dropledger::recorder {

class Flood {
public:
    // Whether this piece is to be kept; one that is not is counted.
    [[nodiscard]] bool admits(std::string_view piece, Microseconds now);
    // What was not kept since the last call, as a remark for the log.
    [[nodiscard]] std::optional<std::string> take_remark();

private:
    Microseconds filled_at_{0};
    std::uint64_t room_ = 0;
    bool begun_ = false;
    std::uint64_t pieces_ = 0;
    std::uint64_t bytes_ = 0;
};

} // namespace dropledger::recorder
