// Lengths on the ground between two places.
//
// Assumes: geographic places are WGS 84 longitude and latitude in degrees, plane ones metres.
// Units: metres.
// Source: Karney 2013, doi:10.1007/s00190-012-0578-z (GeographicLib), to nanometres.
#pragma once

#include "analysis/field/input/drops.hpp"

namespace dropledger::field {

[[nodiscard]] double distance_m(const Place& from, const Place& to, bool geographic);

} // namespace dropledger::field
