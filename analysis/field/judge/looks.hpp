// What one look settles: silent drops that are taken to have one cause, so that digging at one of
// them tells of the others.
//
// One look each: the lasting silences of a row that leave the same trace; those that rows have
// together, in all these rows; the single silent drops of a row whose gate and meter stayed the same
// all night. Undefined when: nothing was found there, or seed at one place and none at another: the
// findings then hold only where they were made.
#pragma once

#include "analysis/field/judge/episode.hpp"

#include <cstdint>
#include <map>
#include <optional>
#include <vector>

namespace dropledger::field {

// Gives each episode, and the single silent drops of each row, the number of their look.
void number_looks(const std::vector<RowEpisodes*>& rows);

class LooksFound {
public:
    // Where someone dug: the share of the silent drops that had no seed.
    void add(std::int32_t look, double missing_share);

    // Whether seed is missing at all that this look settles.
    [[nodiscard]] std::optional<bool> missing(std::int32_t look) const;

private:
    struct Count {
        int missing = 0;
        int seed = 0;
    };
    std::map<std::int32_t, Count> counts_;
};

} // namespace dropledger::field
