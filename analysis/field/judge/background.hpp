// How often a drop is silent singly, along a row's night.
//
// Counted are drops behind a seen one: how many there are and how many of them are silent. Lasting
// silences add one to that at most, however long they are, while a gate that sees less and less
// shows in full. By pieces of some hundred drops within a pass, smoothed over their neighbours.
// Drops that stand apart (course.hpp) do not count. Undefined when: no drop was seen: the share is
// the cap.
#pragma once

#include "analysis/field/judge/course.hpp"

#include <vector>

namespace dropledger::field {

struct Piece {
    std::size_t pass = 0;
    std::size_t begin = 0; // drops of the pass, end excluded
    std::size_t end = 0;
    double chances = 0.0; // drops behind a seen one
    double onsets = 0.0;  // of them silent
    double share = 0.0;   // smoothed
};

struct Pieces {
    std::vector<Piece> all; // in order
    double share = 0.0;     // of the whole row
    double quiet = 0.0;     // of its quietest fifth

    [[nodiscard]] double share_at(std::size_t pass, std::size_t at) const;
    // Of each drop of that pass.
    [[nodiscard]] std::vector<float> along(std::size_t pass, std::size_t drops) const;
};

constexpr double most_background = 0.9;

[[nodiscard]] Pieces background_of(const Course& course);

} // namespace dropledger::field
