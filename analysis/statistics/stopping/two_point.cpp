#include "analysis/statistics/stopping/two_point.hpp"

#include <fmt/format.h>

namespace dropledger::statistics {

namespace {

bool inside(double share) {
    return share > 0.0 && share < 1.0;
}

Error wrong(std::string what, std::string remedy) {
    return usage_error("plan", std::move(what), std::move(remedy));
}

} // namespace

Result<TwoPoint> checked(TwoPoint points) {
    if (!inside(points.good) || !inside(points.bad))
        return wrong(
            fmt::format("the good level is {} and the bad level {}", points.good, points.bad),
            "give shares between 0 and 1, both excluded: 0.05, not 5");
    if (points.good >= points.bad)
        return wrong(
            fmt::format("the good level {} is not below the bad level {}", points.good, points.bad),
            "the good level is the share that passes, the bad one the share that must not");
    if (!inside(points.alpha) || !inside(points.beta) || points.alpha + points.beta >= 1.0)
        return wrong(fmt::format("the risks are {} and {}", points.alpha, points.beta),
                     "give risks above 0 that together stay below 1, usually 0.05 and 0.10");
    return points;
}

} // namespace dropledger::statistics
