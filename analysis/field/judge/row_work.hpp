// The judging of one row, in two steps: what it shows by itself, then its drops once the other rows
// are known. Keeps silent drops only.
#pragma once

#include "analysis/field/judge/judge.hpp"

#include <map>
#include <set>
#include <vector>

namespace dropledger::field {

struct SilentDrop {
    std::int32_t episode = -1; // of the row's; -1: none
    std::int32_t run_up = -1;  // within the rise before that episode
    float share = 0.0F;        // silent share thereabouts
    Apart apart = Apart::no;
    std::int64_t drop = 0; // its number
};

class RowWork {
public:
    RowWork(const Field& field, const std::vector<LineKey>& lines, const JudgeOptions& options);

    [[nodiscard]] RowJudge& row() { return judge_; }
    [[nodiscard]] const RowJudge& row() const { return judge_; }
    [[nodiscard]] RowEpisodes& episodes() { return episodes_; }
    // Single silent drops and drops, outside all that stands apart.
    [[nodiscard]] const Background& background() const { return all_; }

    // By the median silent share of the other rows.
    void look_whether_stuck(double others);
    // What the least silent row says of this one.
    void compare(Neighbours neighbours);
    // Once the traces are known for good: what digging in this row tells, of others too.
    void take_findings(LooksFound& looks);
    // Then each silent drop.
    void judge(const LooksFound& looks, Judged& judged);

private:
    struct PassDrops {
        LineKey key;
        bool blocked = false;
        std::vector<SilentDrop> silent;
        Background steady;
    };

    struct Dug {
        LineKey key;
        std::int64_t first_drop = 0;
        std::int64_t last_drop = 0;
        double missing_share = 0.0; // of the silent drops there
    };

    void keep_silent(const Course& course, const Pieces& pieces);
    void count_background(const Course& course);
    void count_background(const PassCourse& pass, std::size_t p, Background& start,
                          Background& cell);
    [[nodiscard]] std::set<std::int32_t> looks_at(const Dug& dug) const;
    void state_chance();
    void settle_singles();
    void note_row();
    void note_portions(const Field& field, const std::vector<LineKey>& lines);
    [[nodiscard]] double overlooked_share(double efficiency) const;
    [[nodiscard]] StatedGate stated_gate() const;
    [[nodiscard]] bool changes() const;
    [[nodiscard]] Chance drop_chance(const PassDrops& pass, const SilentDrop& drop) const;
    [[nodiscard]] Chance steady_chance(const SilentDrop& drop) const;
    [[nodiscard]] Chance apart_chance(const SilentDrop& drop) const;
    [[nodiscard]] Chance episode_chance(const Episode& episode) const;
    [[nodiscard]] Chance trace_chance(Trace trace) const;
    [[nodiscard]] double missing_share(const Finding& finding) const;
    [[nodiscard]] std::optional<double> found_at(const LineKey& key, std::int64_t drop) const;
    [[nodiscard]] std::int32_t look_of(const SilentDrop& drop) const;
    void add_lost(const SilentDrop& drop, const Chance& chance);
    void settle_lost();

    const JudgeOptions* options_;
    RowJudge judge_;
    RowEpisodes episodes_;
    std::vector<PassDrops> passes_;
    std::vector<std::pair<std::uint32_t, std::int64_t>> targets_;
    std::int64_t drops_ = 0;
    Background all_;
    Background quiet_; // where a changing row is as it is at its best
    double seeds_per_drop_ = 1.0;
    double start_share_ = 0.0; // silent share of the first drops
    double cell_share_ = 0.0;
    std::optional<SilentChance> single_;
    std::vector<Dug> dug_; // in this row
    const LooksFound* looks_ = nullptr;
    std::optional<Chance> singles_found_;
};

} // namespace dropledger::field
