// Units over the seasons, from the book.
#pragma once

#include "bench/station/mechanic/place.hpp"
#include "bench/station/server/request.hpp"

namespace dropledger::station {

[[nodiscard]] Response units_page(const Place& place, const std::string& bar);
[[nodiscard]] Response unit_page(const Place& place, const Request& request, const std::string& bar,
                                 const std::string& trouble = {});
[[nodiscard]] Response note_on_unit(const Place& place, const Request& request,
                                    const std::string& bar);

} // namespace dropledger::station
