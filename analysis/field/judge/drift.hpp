// Does a row's gate, or its meter, stay the same all night?
//
// By lengths of at least 150 drops behind a seen one, episodes and the rise before them left out: a
// chi-square test that all share one silent share, and the least and the greatest share. Changing
// means beyond chance (1 in 10,000), doubled at least, and by two drops in a hundred or more.
// Undefined when: fewer than two such lengths: no change is known of.
#pragma once

#include "analysis/field/judge/episode.hpp"

#include <optional>
#include <vector>

namespace dropledger::field {

struct Length { // of a row's night
    Spot first;
    LineKey first_key;
    LineKey last_key;
    double chances = 0.0;
    double onsets = 0.0;

    [[nodiscard]] double share() const { return onsets / chances; }
};

struct Drift {
    bool changes = false;
    double least = 0.0; // silent share of the quietest length …
    double most = 0.0;  // … and of the most silent one
    double p_value = 1.0;
    double trend = 0.0;      // rank correlation with the order in the night, -1 to 1
    bool short_rise = false; // for a fifth of the night at most, and not again …
    bool late = false;       // … at its end
    LineKey most_at;         // where the most silent length begins
    std::vector<Length> lengths;
};

[[nodiscard]] Drift drift_of(const Course& course, const Pieces& pieces,
                             const std::vector<Episode>& episodes);

} // namespace dropledger::field
