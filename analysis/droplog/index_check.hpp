// Is every drop of one channel's start there? INDEX runs 0, 1, 2, …; lines may come a little out of
// order.
//
// Assumes: a line is out of place by fewer than `window` drops; one that is later counts as
// repeated.
// Memory: one bit for each drop of the window.
#pragma once

#include <bitset>
#include <cstddef>
#include <cstdint>

namespace dropledger::droplog {

class IndexCheck {
public:
    static constexpr std::uint64_t window = 1024;

    void take(std::uint32_t index, std::uint64_t line) {
        if (index == settled_ && settled_ == end_) // in order: the usual case
            end_ = ++settled_;
        else
            take_beside(index, line);
    }
    // No more drops: what is missing up to the last one is missing.
    void finish();

    [[nodiscard]] std::uint64_t missing() const { return missing_; }
    [[nodiscard]] std::uint64_t missing_at() const {
        return missing_at_;
    } // line behind the first hole
    [[nodiscard]] std::uint64_t repeated() const { return repeated_; }
    [[nodiscard]] std::uint64_t repeated_at() const { return repeated_at_; } // the first one's line
    // One more than the highest INDEX: as many as there must be.
    [[nodiscard]] std::uint64_t drops() const { return end_; }

private:
    void take_beside(std::uint32_t index, std::uint64_t line);
    void settle_up_to(std::uint64_t index);
    void repeat(std::uint64_t line);

    std::uint64_t settled_ = 0; // every drop before this one is there, or counted as missing
    std::uint64_t end_ = 0;
    std::uint64_t hole_seen_at_ = 0; // line that came before one that is due; 0: none is due
    std::bitset<window> seen_;       // from `settled_` on, by INDEX modulo `window`
    std::uint64_t missing_ = 0;
    std::uint64_t missing_at_ = 0;
    std::uint64_t repeated_ = 0;
    std::uint64_t repeated_at_ = 0;
};

} // namespace dropledger::droplog
