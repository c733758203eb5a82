// Passes, gaps and alerts as GeoJSON (RFC 7946): WGS 84, longitude first, at most 7 decimals, no
// crs member.
//
// Passes and gaps are LineStrings (a gap of one drop, or of no length, a Point), alerts Points;
// `kind` in their properties tells them apart. A line that crosses the 180th meridian is cut there
// in two. Undefined when: the table is in a plane system: there is no GeoJSON of it.
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/field/audit.hpp"

#include <string>

namespace dropledger::report::field {

[[nodiscard]] Result<std::string> to_geojson(const dropledger::field::FieldAudit& audit);

} // namespace dropledger::report::field
