// How often nominal 95 % intervals of shares and of all spacings hold the truth where misses or
// multiples come in rows or at one cell, and how wide they are beside the classical ones.
//
// Units: lengths µm. The same seed gives the same runs.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

namespace dropledger::measures::coverage {

enum class Pattern {
    independent,
    rows,       // geometric lengths
    equal_rows, // all of one length; a mean of 2.5 is 2 and 3 in turn at random
    bad_cell    // one cell of `cells` has four fifths of the hits, or nine in ten of its drops
};

struct ShareScenario {
    Pattern pattern = Pattern::independent;
    double share = 0.02;
    double row_length = 1.0;
    int cells = 0;
    bool of_multiples = false; // else of misses; the other kind comes independently, at 1 %
    [[nodiscard]] std::string name() const;
};

// Nine patterns at one share.
[[nodiscard]] std::vector<ShareScenario> share_scenarios(double share, bool of_multiples);

struct ShareCovered {
    int runs = 0;
    int hidden = 0;  // runs in which no hit of the pattern follows another
    int defined = 0; // runs with an interval
    int held = 0;
    int defined_shown = 0; // the same without the hidden ones
    int held_shown = 0;
    int classical_held = 0;
    double width = 0.0;     // summed over the runs that have both intervals
    double classical = 0.0; // Clopper-Pearson; Student's t for the mean

    [[nodiscard]] double share() const { return held / static_cast<double>(defined); }
    [[nodiscard]] double shown() const { return held_shown / static_cast<double>(defined_shown); }
    [[nodiscard]] double ratio() const { return width / classical; }
};

struct ShareStudy {
    std::int64_t drops = 250;
    int runs = 1000;
    std::uint64_t seed = 1;
    std::int64_t drops_for_truth = 1'000'000;
};

// By quantity, named as in the audit's JSON; those of the ledger as `ledger.miss`, ….
[[nodiscard]] std::map<std::string, ShareCovered> share_study(const ShareScenario& scenario,
                                                              const ShareStudy& how);

// What a profile with limits of 5 % on misses and multiples says of independent units, by the ISO
// index and the ledger's share, as shares of the runs.
struct Usefulness {
    double within = 0.0;  // both of both
    double outside = 0.0; // any, with three events behind it
};
struct UnitShares {
    double miss = 0.01;
    double multiple = 0.01;
};
[[nodiscard]] Usefulness usefulness(const UnitShares& unit, const ShareStudy& how);

} // namespace dropledger::measures::coverage
