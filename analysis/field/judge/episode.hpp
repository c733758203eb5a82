// Lasting silences of a row, and what kind of trace each leaves.
//
// An episode is one or several outages (silence_model.hpp) that follow on each other: over a turn of
// the machine, or within a few drops. It came of a sudden, or silence grew before it (`run_up`
// drops, in steps of 25: as long as they were silent far more often than the row's quiet part).
// Source: none; the kinds are our own.
#pragma once

#include "analysis/field/judge/silence_model.hpp"

#include <cstdint>
#include <string_view>
#include <vector>

namespace dropledger::field {

enum class Trace {
    gave_out,     // silence grew for a while, then lasted: a container runs empty so
    faded,        // silence grew over a long time, then lasted: a gate goes blind so, too
    stopped,      // came of a sudden and lasted, once in the row's night
    burst,        // the same, but short
    trickled,     // came of a sudden, and seeds were seen all through it
    intermittent, // several that came and went of a sudden
    together,     // in several rows at once
    from_first,   // from the row's first drop on: nothing shows that its gate could see by then
    never_seen,   // the row's gate saw nothing all night
};
[[nodiscard]] std::string_view key_of(Trace trace);

struct Spot { // a drop of a row's night
    std::size_t pass = 0;
    std::size_t at = 0;
    friend auto operator<=>(const Spot&, const Spot&) = default; // NOLINT: as for LineKey
};

struct Episode {
    Trace trace = Trace::stopped;
    Spot first;
    Spot last; // included
    LineKey first_key;
    LineKey last_key;
    std::int64_t first_drop = 0; // numbers
    std::int64_t last_drop = 0;
    std::int64_t drops = 0;
    std::int64_t silent = 0;
    std::int64_t run_up = 0;     // drops over which silence grew before
    Spot run_up_from;            // where it began to grow
    bool from_row_begin = false; // the night's first drops of the row are in it
    bool to_row_end = false;     // its last
    bool over_pass_end = false;
    std::vector<std::int64_t> other_rows; // silent at the same drops
    std::int32_t look = -1;               // that settles it (looks.hpp)

    [[nodiscard]] bool holds(const Spot& spot) const { return first <= spot && spot <= last; }
};

// Of one row, in order, each with its trace as far as the row alone tells.
[[nodiscard]] std::vector<Episode> episodes_of(const Course& course, const Pieces& pieces,
                                               const SilenceFit& fit);

struct RowEpisodes {
    std::int64_t row = 0;
    std::vector<Episode> episodes;
    std::int32_t single_look = -1; // that tells of its single silent drops
};
// Finds those that several rows have at the same drops of the same pass.
void find_together(std::vector<RowEpisodes*>& rows);

} // namespace dropledger::field
