// Gives every landing to one commanded drop, or calls it a stray, and closes every drop once.
//
// Two ways, by where the gate sits: below the valve by place (nearest expected position x_k + b, a
// tie to the earlier drop), above the valve by time (the first opening after the seed was seen; a
// seed seen in the very microsecond of an opening belongs to the next one, and one seen before the
// first opening to the first). A stray lies more than half a spacing before the first or after the
// last expected place x_k + b; at exactly half a spacing it still belongs to that drop. In a wider
// gap between two commanded drops the nearest has it. Assumes: drops and landings each come in
// order. `settled_um` promises that later landings lie at or beyond it.
#pragma once

#include "analysis/base/ring.hpp"
#include "analysis/ledger/entry.hpp"

#include <cstdint>

namespace dropledger::ledger {

class OpenDrops {
public:
    explicit OpenDrops(EntrySink& sink) : sink_(&sink) {}

    [[nodiscard]] bool empty() const { return open_.empty(); }
    [[nodiscard]] std::size_t size() const { return open_.size(); }
    [[nodiscard]] const Commanded& operator[](std::size_t i) const { return open_[i].drop; }
    [[nodiscard]] const Commanded& last() const { return open_.back().drop; }

    template <class Before> void add(const Commanded& drop, Before before) {
        open_.insert_sorted(Entry{.drop = drop},
                            [&](const Entry& a, const Entry& b) { return before(a.drop, b.drop); });
    }
    void give(const Landing& landing, std::int64_t error_um);
    void close_first();

private:
    EntrySink* sink_;
    Ring<Entry> open_;
};

class AssignmentByPlace {
public:
    AssignmentByPlace(EntrySink& sink, std::int64_t spacing_um, std::int64_t registration_um)
        : drops_(sink), sink_(&sink), spacing_um_(spacing_um), registration_um_(registration_um) {}

    void drop(const Commanded& drop);
    void landing(const Landing& landing) { waiting_.push_back(landing); }
    void settled(std::int64_t settled_um);
    void end_segment();

private:
    void give(const Landing& landing, bool at_end);
    void close_up_to(std::int64_t place_um);
    [[nodiscard]] std::size_t next_place() const;
    [[nodiscard]] bool is_decidable(const Landing& landing) const;

    OpenDrops drops_;
    EntrySink* sink_;
    std::int64_t spacing_um_;
    std::int64_t registration_um_;
    Ring<Landing> waiting_;
    bool first_is_open_ = true; // no drop of the segment was closed yet
};

class AssignmentByTime {
public:
    explicit AssignmentByTime(EntrySink& sink) : drops_(sink), sink_(&sink) {}

    void drop(const Commanded& drop);
    void landing(const Landing& landing) { waiting_.push_back(landing); }
    // Everything seen before this time has been handed over.
    void settled(std::int64_t settled_us);
    void end_segment();

private:
    OpenDrops drops_;
    EntrySink* sink_;
    Ring<Landing> waiting_;
};

} // namespace dropledger::ledger
