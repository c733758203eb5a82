// What a run came to: the report's own page in the station's frame, and the machine's sheet.
#pragma once

#include "bench/station/mechanic/place.hpp"
#include "bench/station/pages/jobs.hpp"

namespace dropledger::station {

[[nodiscard]] Response verdict_page(const Place& place, Jobs& jobs, const Request& request,
                                    const std::string& bar);
[[nodiscard]] Response sheet_page(const Place& place, Jobs& jobs, const Request& request,
                                  const std::string& bar);

} // namespace dropledger::station
