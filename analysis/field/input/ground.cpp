#include "analysis/field/input/ground.hpp"

#include <GeographicLib/Geodesic.hpp>

#include <cmath>
#include <numbers>

namespace dropledger::field {

double distance_m(const Place& from, const Place& to, bool geographic) {
    if (!geographic)
        return std::hypot(to.x - from.x, to.y - from.y);
    double length_m = 0.0;
    GeographicLib::Geodesic::WGS84().Inverse(from.y, from.x, to.y, to.x, length_m);
    return length_m;
}

double flat_distance_m(const Place& from, const Place& to, bool geographic) {
    if (!geographic)
        return std::hypot(to.x - from.x, to.y - from.y);
    constexpr double metres_per_degree = 111'195.0; // of a sphere of 6371 km
    const double shrink = std::cos((from.y + to.y) / 2.0 * std::numbers::pi / 180.0);
    return metres_per_degree *
           std::hypot(std::remainder(to.x - from.x, 360.0) * shrink, to.y - from.y);
}

double length_along_m(std::span<const FieldDrop> drops, bool geographic) {
    constexpr double least_chord_m = 2.0;
    if (drops.size() < 2)
        return 0.0;
    double length_m = 0.0;
    const FieldDrop* from = &drops.front();
    const FieldDrop* before = from;
    for (const FieldDrop& drop : drops.subspan(1)) {
        if (flat_distance_m(from->at, drop.at, geographic) >= least_chord_m) {
            length_m += distance_m(from->at, drop.at, geographic);
            from = &drop;
        }
        before = &drop;
    }
    return from == before ? length_m : length_m + distance_m(from->at, before->at, geographic);
}

} // namespace dropledger::field
