// Are lat and lon swapped? A machine is rigid: its rows lie abeam of each other whatever way it drives,
// and its drops as far apart. Swapped coordinates stretch the ground one way, which bends both; where
// the places taken as they are break this, and taken the other way round keep it, they are swapped.
//
// Undefined when: fewer than four straight passes of two rows, or a place near the equator and the
// zero meridian, where both are alike: false. Rows driven due north, south, east or west only stay
// square however they are stretched: there nothing shows.
#pragma once

#include "analysis/field/input/drops.hpp"

namespace dropledger::field {

[[nodiscard]] bool look_swapped(const Field& field);

} // namespace dropledger::field
