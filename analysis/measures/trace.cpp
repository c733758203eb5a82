#include "analysis/measures/trace.hpp"

#include <algorithm>

namespace dropledger::measures {

namespace {

bool is_few(EntryKind kind) {
    return kind == EntryKind::miss || kind == EntryKind::empty || kind == EntryKind::shorted;
}

bool is_many(EntryKind kind) {
    return kind == EntryKind::multiple || kind == EntryKind::over;
}

void add_errors(TracePoint& to, const TracePoint& from) {
    if (from.landed == 0)
        return;
    const bool first = to.landed == 0;
    to.error_least_um =
        first ? from.error_least_um : std::min(to.error_least_um, from.error_least_um);
    to.error_greatest_um =
        first ? from.error_greatest_um : std::max(to.error_greatest_um, from.error_greatest_um);
    to.error_sum_um += from.error_sum_um;
}

void add_point(TracePoint& to, const TracePoint& from) {
    if (to.drops == 0)
        to.first_index = from.first_index;
    add_errors(to, from);
    to.drops += from.drops;
    to.few += from.few;
    to.many += from.many;
    to.landed += from.landed;
    to.seeds += from.seeds;
}

void add_error(TracePoint& to, std::int64_t error_um) {
    const bool first = to.landed++ == 0;
    to.error_least_um = first ? error_um : std::min(to.error_least_um, error_um);
    to.error_greatest_um = first ? error_um : std::max(to.error_greatest_um, error_um);
    to.error_sum_um += error_um;
}

} // namespace

void Trace::add(const ledger::Entry& entry, EntryKind kind) {
    if (is_few(kind) || is_many(kind)) {
        ++incident_count_;
        if (incidents_.size() < most_incidents)
            incidents_.push_back(
                {entry.drop.index, kind, entry.seeds, entry.drop.line, entry.drop.position_um});
    }
    if (points_.empty() || points_.back().drops == drops_per_point_) {
        if (points_.size() == most_points)
            halve();
        points_.emplace_back();
    }
    TracePoint& point = points_.back();
    if (point.drops++ == 0)
        point.first_index = entry.drop.index;
    point.few += is_few(kind) ? 1U : 0U;
    point.many += is_many(kind) ? 1U : 0U;
    point.seeds += entry.seeds;
    if (entry.seeds > 0)
        add_error(point, entry.error_um());
}

void Trace::halve() {
    for (std::size_t i = 0; i < most_points / 2; ++i) {
        TracePoint merged = points_[2 * i];
        add_point(merged, points_[2 * i + 1]);
        points_[i] = merged;
    }
    points_.resize(most_points / 2);
    drops_per_point_ *= 2;
}

} // namespace dropledger::measures
