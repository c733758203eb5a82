// What the latest lines of a boot looked like, so that another line under the same SEQ is noticed.
//
// Bounds: the latest 65,536 lines, 8 bytes each; of an earlier one nothing is known.
#pragma once

#include <cstdint>
#include <deque>
#include <string_view>

namespace dropledger::recorder {

class TakenLines {
public:
    void forget() { marks_.clear(); } // a new boot
    // Lines are taken in SEQ order; a hole forgets what was before it.
    void remember(std::uint32_t seq, std::string_view line);
    // Known, and it was another line.
    [[nodiscard]] bool differs(std::uint32_t seq, std::string_view line) const;

private:
    std::deque<std::size_t> marks_; // hashes; the last is of SEQ latest_
    std::uint32_t latest_ = 0;
};

} // namespace dropledger::recorder
