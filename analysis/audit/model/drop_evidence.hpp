// What one gate's drops say of the evidence itself: counts, from which doubts are read.
//
// Units: µm, µs.
#pragma once

#include <cstdint>
#include <vector>

namespace dropledger::audit {

// From one commanded drop to the next of the same start.
struct CommandedSteps {
    std::int64_t count = 0;
    std::int64_t other_spacing = 0; // over 2 % from the spacing that the log states
    std::int64_t other_speed = 0;   // over 25 % from the speed that it states
    std::int64_t way_um = 0;
    std::int64_t duration_us = 0;
};

// Of a line's landings, in travel order.
struct LineEvidence {
    std::int64_t landings = 0;
    std::int64_t close = 0;   // within a millisecond of the one before
    std::int64_t took_us = 0; // from the first to the last of each segment of the log
    std::int64_t way_um = 0;
};

// A drop that shows more seeds than it was to hold: when its first and last pulse came.
struct Excess {
    std::int64_t first_us = 0;
    std::int64_t last_us = 0;
};

struct DropEvidence {
    std::int64_t drops = 0;
    CommandedSteps steps;
    std::int64_t other_count = 0; // drops meant to hold another number of seeds than the log states
    std::int64_t misses = 0;
    std::int64_t multiples = 0;
    std::int64_t far_multiples = 0;      // over a quarter of the spacing from first to last seed
    std::int64_t close_multiples = 0;    // under a millisecond from first to last pulse
    std::int64_t longest_silence = 0;    // drops
    std::int64_t at_opening = 0;         // drops whose first seed came within 1 ms after an opening
    std::int64_t before_opening = 0;     // drops whose first seed came before their own opening
    std::int64_t behind_the_next = 0;    // … behind the next one, later than any seed falls
    std::int64_t asked = 0;              // seeds
    std::vector<std::int64_t> landed_us; // the first few thousand seeds
    std::vector<Excess> excess;          // among them
    LineEvidence line;
};

} // namespace dropledger::audit
