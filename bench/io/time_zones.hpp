// Named time zones ("Europe/Berlin") from this computer's zone files.
//
// The C library knows them through TZ, which is the whole process's: `named_zone` sets it, asks for
// every change from 1970 to 2100, and puts it back; once for each name. Assumes: a local time that
// another thread shows in that moment may be that zone's: none that is judged by or kept is one. Source: IANA time zone database, package tzdata.
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/base/time_zone.hpp"

#include <string>

namespace dropledger::files {

[[nodiscard]] Result<TimeZone> named_zone(const std::string& name);

} // namespace dropledger::files
