// Lengths on the ground between two places, and along drops.
//
// Assumes: geographic places are WGS 84 longitude and latitude in degrees, plane ones metres.
// Units: metres.
// Source: Karney 2013, doi:10.1007/s00190-012-0578-z (GeographicLib), to nanometres.
#pragma once

#include "analysis/field/table/drop.hpp"

#include <span>

namespace dropledger::field {

[[nodiscard]] double distance_m(const Place& from, const Place& to, bool geographic);

// The same on a sphere laid flat: right to half a percent over a farm, and fast.
[[nodiscard]] double flat_distance_m(const Place& from, const Place& to, bool geographic);

// Along the drops, by chords of two metres and more: a curve is followed, the scatter of single
// places does not add up.
[[nodiscard]] double length_along_m(std::span<const FieldDrop> drops, bool geographic);

} // namespace dropledger::field
