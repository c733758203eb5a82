// Gives every landing to one commanded drop, or calls it a stray, and closes every drop once.
//
// Two ways, by where the gate sits: below the valve by place (nearest expected position x_k + b, a
// tie to the earlier drop), above the valve by time (the first opening after the seed was seen; a
// seed seen in the very microsecond of an opening belongs to the next one, and one seen before the
// first opening to the first). A stray lies more than half a spacing before the first or after the
// last expected place x_k + b; at exactly half a spacing it still belongs to that drop. In a wider
// gap between two commanded drops the nearest has it, unless even that one is over a kilometre
// away.
// Assumes: landings come in order; drops by place in any order, by time in order. `settled_um`
// promises that later landings lie at or beyond it.
#pragma once

#include "analysis/base/ring.hpp"
#include "analysis/ledger/entry.hpp"
#include "analysis/ledger/ordered_queue.hpp"

#include <cstdint>
#include <limits>
#include <optional>
#include <vector>

namespace dropledger::ledger {

constexpr std::int64_t farthest_um = 1'000'000'000; // that a seed may lie from its drop

class AssignmentByPlace {
public:
    AssignmentByPlace(EntrySink& sink, std::int64_t spacing_um, std::int64_t registration_um)
        : sink_(&sink), spacing_um_(spacing_um), registration_um_(registration_um) {}

    void drop(const Commanded& drop);
    void landing(const Landing& landing) { waiting_.push_back(landing); }
    void settled(std::int64_t settled_um);
    void end_segment();

private:
    struct ByPlace {
        bool operator()(const Commanded& a, const Commanded& b) const {
            return a.position_um < b.position_um;
        }
    };
    static constexpr std::int64_t nowhere_um = std::numeric_limits<std::int64_t>::min() / 4;

    void put_back_first();
    void take_first();
    [[nodiscard]] bool has_twin() const {
        return !beyond_.empty() && beyond_.front().position_um <= first_->drop.position_um;
    }
    void gather_twins();
    void close_first();
    void close_up_to(std::int64_t place_um);
    void give(const Landing& landing, bool at_end);
    [[nodiscard]] bool is_decidable(const Landing& landing) const;

    EntrySink* sink_;
    std::int64_t spacing_um_;
    std::int64_t registration_um_;
    std::optional<Entry> first_;   // of the open drops; there where any is open
    std::vector<Commanded> twins_; // commanded for its place as well: it has all that falls there
    OrderedQueue<Commanded, ByPlace> beyond_;
    std::int64_t furthest_um_ = nowhere_um; // any drop of the segment
    Ring<Landing> waiting_;
    bool first_is_open_ = true; // no drop of the segment was closed yet
};

class AssignmentByTime {
public:
    explicit AssignmentByTime(EntrySink& sink) : sink_(&sink) {}

    void drop(const Commanded& drop) { open_.push_back(Entry{.drop = drop}); }
    void landing(const Landing& landing) { waiting_.push_back(landing); }
    // Everything seen before this time has been handed over.
    void settled(std::int64_t settled_us);
    void end_segment();

private:
    EntrySink* sink_;
    Ring<Entry> open_;
    Ring<Landing> waiting_;
};

} // namespace dropledger::ledger
