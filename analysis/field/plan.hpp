// What a field audit says to do: re-seed, dig, walk.
//
// Units: in the names.
// Undefined when: said at each member.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::field {

struct Reseed {
    double min_length_m = 0.0;
    std::int64_t gaps = 0; // at least so long and seed missing
    std::int64_t seeds = 0;
    double length_m = 0.0;
    double minutes = 0.0;            // of re-seeding and of the way
    std::int64_t undecided_gaps = 0; // as long, but whether seed is missing is not known
    double undecided_length_m = 0.0;
    std::int64_t undecided_seeds = 0;
    double plants_lost = 0.0;                  // in the gaps worth it
    double plants_back = 0.0;                  // as good as so many in time, once re-seeded
    std::vector<std::string> costs_missing;    // without which worth can't be told
    std::optional<double> cost_of_nothing_low; // of all plants lost, whatever the list's threshold
    std::optional<double> cost_of_nothing;     // as expected of what is judged missing
    std::optional<double> cost_of_nothing_high;
    std::optional<double> cost_of_reseeding;
    std::optional<double> net_gain;
    std::optional<double> break_even_m; // a gap from this length on pays
};

// One length of row whose look settles most.
struct Dig {
    std::size_t gap = 0;     // of `gaps`
    std::int64_t alerts = 0; // that it settles
    double length_m = 0.0;   // of open gaps that it settles
    std::int64_t rows = 1;
    bool single_drops = false; // look at several silent drops round it
};

struct Walk {
    std::vector<std::size_t> stops; // of `gaps`, in walking order
    double way_m = 0.0;
    double way_in_list_order_m = 0.0;
};

} // namespace dropledger::field
