#include "bench/capture/course.hpp"

#include "bench/capture/formats/change.hpp"

#include <algorithm>

namespace dropledger::capture {

Course::Course(const TravelWiring& wiring) {
    if (const auto* const stated = std::get_if<StatedSpeed>(&wiring))
        um_per_ps_ = stated->um_per_s / static_cast<double>(ps_per_s);
}

void Course::step(std::int64_t at_ps, double um) {
    points_.push_back({at_ps, points_.back().um + um});
}

double Course::position_um(std::int64_t at_ps) const {
    if (um_per_ps_ > 0.0)
        return um_per_ps_ * static_cast<double>(at_ps);
    const auto after =
        std::upper_bound(points_.begin(), points_.end(), at_ps,
                         [](std::int64_t time, const Point& point) { return time < point.at_ps; });
    if (after == points_.begin())
        return after->um;
    const Point& before = *std::prev(after);
    if (after == points_.end())
        return before.um;
    const double share = static_cast<double>(at_ps - before.at_ps) /
                         static_cast<double>(after->at_ps - before.at_ps);
    return before.um + share * (after->um - before.um);
}

// The last step before the time stays: what comes goes on from it.
void Course::forget_before(std::int64_t at_ps) {
    while (points_.size() > 1 && points_[1].at_ps <= at_ps)
        points_.pop_front();
}

} // namespace dropledger::capture
