// Does a sensor report seed where none falls? One that is stuck, or takes vibration for seed, is
// never silent, whatever falls: its row looks best of all.
//
// Two signs: over the whole night a row is silent ten times less often than the other rows (at one
// per cent; of their shares, up to one in a hundred counts), and a stretch without a silent drop that
// is far too long for the row's others, were they scattered at random (the longest of k + 1 spacings
// of a line, at most (k + 1)(1 - L/n)^k: David and Nagaraja, Order Statistics; from memory).
// Assumes: silent drops do not grow or fall along the night; where they do the second says nothing.
// Undefined when: fewer than ten silent drops (the second).
#pragma once

#include "analysis/field/judge/course.hpp"
#include "analysis/field/judge/episode.hpp"
#include "analysis/field/judge/silent_chance.hpp"

#include <cstdint>
#include <optional>
#include <vector>

namespace dropledger::field {

struct Stuck {
    std::int64_t drops = 0; // without a silent one, or with hardly any
    LineKey from;
    std::int64_t first_drop = 0;
    LineKey to;
    std::int64_t last_drop = 0;
    bool whole_night = false;
    double usual_share = 0.0; // silent, of the row's other drops or of the other rows
    double p_value = 1.0;
};

[[nodiscard]] std::optional<Stuck> stuck_for_a_while(const Course& course,
                                                     const std::vector<Episode>& episodes);
// `others`: the median silent share of the other rows.
[[nodiscard]] std::optional<Stuck> stuck_all_night(const Background& row, double others);

} // namespace dropledger::field
