#include "analysis/field/input/ground.hpp"

#include <GeographicLib/Geodesic.hpp>

#include <cmath>

namespace dropledger::field {

double distance_m(const Place& from, const Place& to, bool geographic) {
    if (!geographic)
        return std::hypot(to.x - from.x, to.y - from.y);
    double length_m = 0.0;
    GeographicLib::Geodesic::WGS84().Inverse(from.y, from.x, to.y, to.x, length_m);
    return length_m;
}

} // namespace dropledger::field
