// Do hits (misses, multiples) gather at one residue of the drop index modulo the number of cells?
//
// Assumes: within a start drop indices run on without holes; under the null every hit falls on any
// drop alike. Where the index begins anew a cell has another residue, so every start is looked at
// by itself and the strongest of them is given. With the number of cells known each residue is
// tested; else every residue of every period from 2 to `longest_period`, all of them, in every
// start that is long enough, counted in the adjustment. Exact (hypergeometric) test, Bonferroni
// over what was looked at, the most unlikely residue is given.
// Memory: one counter per residue, whatever the length of the run.
// Undefined when: in no start 3 hits and 3 turns of the cells: std::nullopt.
#pragma once

#include <algorithm>
#include <cstdint>
#include <optional>
#include <vector>

namespace dropledger::causes {

struct Periodic {
    std::int64_t cells = 0;
    std::int64_t residue = 0;  // of the drop index
    std::int64_t hits = 0;     // at that residue
    std::int64_t drops = 0;    // at that residue
    std::int64_t all_hits = 0; // of the start
    std::int64_t all_drops = 0;
    std::int64_t start = 0;
    double p_value = 1.0; // adjusted
};

class PeriodScan {
public:
    static constexpr std::int64_t longest_period = 72;

    explicit PeriodScan(std::optional<std::int64_t> cells);

    // `start` grows; drops of one start come in order of their index, nearly.
    void add(std::int64_t index, bool hit, std::int64_t start = 0) {
        if (start != start_)
            begin_start(start);
        if (first_ < 0)
            first_ = index;
        last_ = std::max(last_, index);
        ++drops_;
        if (hit)
            add_hit(index);
    }
    [[nodiscard]] std::optional<Periodic> strongest() const;

private:
    void add_hit(std::int64_t index);
    void begin_start(std::int64_t start);
    [[nodiscard]] std::optional<Periodic> strongest_of_start() const;
    [[nodiscard]] std::int64_t drops_at(std::int64_t period, std::int64_t residue) const;
    [[nodiscard]] Periodic at(std::int64_t period, std::int64_t residue, std::int64_t hits) const;

    std::int64_t first_period_ = 2;
    std::vector<std::vector<std::int64_t>> hits_; // by period, by residue
    std::int64_t first_ = -1;
    std::int64_t last_ = -1;
    std::int64_t drops_ = 0;
    std::int64_t all_hits_ = 0;
    double tests_ = 0.0; // in one start
    std::int64_t start_ = 0;
    std::int64_t starts_tested_ = 0; // of those that have ended
    std::optional<Periodic> best_;   // of those, not adjusted for their number
};

} // namespace dropledger::causes
