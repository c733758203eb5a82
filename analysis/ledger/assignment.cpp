#include "analysis/ledger/assignment.hpp"

#include <algorithm>
#include <cstdlib>

namespace dropledger::ledger {

namespace {

void add_to(Entry& entry, const Landing& landing, std::int64_t error_um) {
    if (entry.seeds == 0) {
        entry.first_um = entry.last_um = error_um;
        entry.first_time_us = landing.time_us;
    }
    entry.first_um = std::min(entry.first_um, error_um);
    entry.last_um = std::max(entry.last_um, error_um);
    entry.first_time_us = std::min(entry.first_time_us, landing.time_us);
    entry.seeds += landing.seeds;
    entry.sum_um += error_um * landing.seeds;
}

} // namespace

void AssignmentByPlace::drop(const Commanded& drop) {
    furthest_um_ = std::max(furthest_um_, drop.position_um);
    if (first_ && drop.position_um < first_->drop.position_um && first_->seeds == 0)
        put_back_first();
    beyond_.push(drop);
    if (!first_)
        take_first();
}

// A drop short of the first one was told of late.
void AssignmentByPlace::put_back_first() {
    gather_twins();
    beyond_.push(first_->drop);
    for (const Commanded& twin : twins_)
        beyond_.push(twin);
    twins_.clear();
    first_.reset();
}

void AssignmentByPlace::take_first() {
    if (beyond_.empty())
        return;
    first_ = Entry{.drop = beyond_.front()};
    beyond_.pop();
}

void AssignmentByPlace::gather_twins() {
    while (!beyond_.empty() && beyond_.front().position_um <= first_->drop.position_um) {
        twins_.push_back(beyond_.front());
        beyond_.pop();
    }
}

void AssignmentByPlace::close_first() {
    if (has_twin())
        gather_twins();
    sink_->entry(*first_);
    for (const Commanded& twin : twins_)
        sink_->entry(Entry{.drop = twin});
    twins_.clear();
    if (beyond_.empty())
        return first_.reset();
    first_->drop = beyond_.front();
    first_->seeds = 0;
    first_->sum_um = first_->first_um = first_->last_um = first_->first_time_us = 0;
    beyond_.pop();
}

// A later drop might be nearer until one is known beyond the landing.
bool AssignmentByPlace::is_decidable(const Landing& landing) const {
    return first_ && furthest_um_ + registration_um_ >= landing.position_um;
}

void AssignmentByPlace::settled(std::int64_t settled_um) {
    while (!waiting_.empty() && is_decidable(waiting_.front())) {
        give(waiting_.front(), false);
        waiting_.pop_front();
    }
    const std::int64_t next_um =
        waiting_.empty() ? settled_um : std::min(settled_um, waiting_.front().position_um);
    close_up_to(next_um - registration_um_);
}

// Closes the drops that a landing at this place, or beyond, can no longer belong to.
void AssignmentByPlace::close_up_to(std::int64_t place_um) {
    // short of the first drop none is nearer: the usual case, and no need to look further
    while (first_ && place_um > first_->drop.position_um) {
        if (has_twin())
            gather_twins();
        if (beyond_.empty() ||
            2 * place_um <= first_->drop.position_um + beyond_.front().position_um)
            return;
        close_first();
        first_is_open_ = false;
    }
}

void AssignmentByPlace::give(const Landing& landing, bool at_end) {
    const std::int64_t place_um = landing.position_um - registration_um_;
    close_up_to(place_um);
    if (at_end)
        gather_twins();
    const std::int64_t error_um = place_um - first_->drop.position_um;
    const bool before_first = first_is_open_ && 2 * error_um < -spacing_um_;
    const bool after_last = at_end && beyond_.empty() && 2 * error_um > spacing_um_;
    if (before_first || after_last || std::abs(error_um) > farthest_um)
        return sink_->stray(landing);
    add_to(*first_, landing, error_um + registration_um_);
    sink_->assigned(landing, error_um + registration_um_);
}

void AssignmentByPlace::end_segment() {
    for (; !waiting_.empty(); waiting_.pop_front()) {
        if (first_)
            give(waiting_.front(), true);
        else
            sink_->stray(waiting_.front());
    }
    while (first_)
        close_first();
    furthest_um_ = nowhere_um;
    first_is_open_ = true;
}

void AssignmentByTime::settled(std::int64_t settled_us) {
    for (; !open_.empty() && open_.front().drop.time_us < settled_us; open_.pop_front()) {
        Entry& entry = open_.front();
        for (; !waiting_.empty() && waiting_.front().time_us < entry.drop.time_us;
             waiting_.pop_front()) {
            add_to(entry, waiting_.front(), 0);
            sink_->assigned(waiting_.front(), 0);
        }
        sink_->entry(entry);
    }
}

void AssignmentByTime::end_segment() {
    settled(std::numeric_limits<std::int64_t>::max());
    for (; !waiting_.empty(); waiting_.pop_front())
        sink_->stray(waiting_.front());
}

} // namespace dropledger::ledger
