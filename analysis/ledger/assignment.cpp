#include "analysis/ledger/assignment.hpp"

#include <algorithm>
#include <limits>

namespace dropledger::ledger {

void OpenDrops::give(const Landing& landing, std::int64_t error_um) {
    Entry& entry = open_.front();
    if (entry.seeds == 0) {
        entry.first_um = entry.last_um = error_um;
        entry.first_time_us = landing.time_us;
    }
    entry.first_um = std::min(entry.first_um, error_um);
    entry.last_um = std::max(entry.last_um, error_um);
    entry.first_time_us = std::min(entry.first_time_us, landing.time_us);
    entry.seeds += landing.seeds;
    entry.sum_um += error_um * landing.seeds;
    sink_->assigned(landing, error_um);
}

void OpenDrops::close_first() {
    sink_->entry(open_.front());
    open_.pop_front();
}

void AssignmentByPlace::drop(const Commanded& drop) {
    drops_.add(
        drop, [](const Commanded& a, const Commanded& b) { return a.position_um < b.position_um; });
}

// A later drop might be nearer until one is known beyond the landing.
bool AssignmentByPlace::is_decidable(const Landing& landing) const {
    return !drops_.empty() && drops_.last().position_um + registration_um_ >= landing.position_um;
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
    while (!drops_.empty() && place_um > drops_[0].position_um) {
        const std::size_t next = next_place();
        if (next == drops_.size() ||
            2 * place_um <= drops_[0].position_um + drops_[next].position_um)
            return;
        drops_.close_first();
        first_is_open_ = false;
    }
}

// The first drop that is commanded further on than the first open one: of several drops commanded
// for one place the earliest has all landings, as in every tie.
std::size_t AssignmentByPlace::next_place() const {
    std::size_t next = drops_.empty() ? 0 : 1;
    while (next < drops_.size() && drops_[next].position_um == drops_[0].position_um)
        ++next;
    return next;
}

void AssignmentByPlace::give(const Landing& landing, bool at_end) {
    const std::int64_t place_um = landing.position_um - registration_um_;
    close_up_to(place_um);
    const std::int64_t error_um = place_um - drops_[0].position_um;
    const bool before_first = first_is_open_ && 2 * error_um < -spacing_um_;
    const bool after_last = at_end && next_place() == drops_.size() && 2 * error_um > spacing_um_;
    if (before_first || after_last)
        sink_->stray(landing);
    else
        drops_.give(landing, error_um + registration_um_);
}

void AssignmentByPlace::end_segment() {
    for (; !waiting_.empty(); waiting_.pop_front()) {
        if (drops_.empty())
            sink_->stray(waiting_.front());
        else
            give(waiting_.front(), true);
    }
    while (!drops_.empty())
        drops_.close_first();
    first_is_open_ = true;
}

void AssignmentByTime::drop(const Commanded& drop) {
    drops_.add(drop, [](const Commanded& a, const Commanded& b) { return a.time_us < b.time_us; });
}

void AssignmentByTime::settled(std::int64_t settled_us) {
    while (!drops_.empty() && drops_[0].time_us < settled_us) {
        for (; !waiting_.empty() && waiting_.front().time_us < drops_[0].time_us;
             waiting_.pop_front())
            drops_.give(waiting_.front(), 0);
        drops_.close_first();
    }
}

void AssignmentByTime::end_segment() {
    settled(std::numeric_limits<std::int64_t>::max());
    for (; !waiting_.empty(); waiting_.pop_front())
        sink_->stray(waiting_.front());
}

} // namespace dropledger::ledger
