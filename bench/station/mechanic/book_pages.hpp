// What of the folder the station's book does not know yet, and entering it.
#pragma once

#include "bench/book/book.hpp"
#include "bench/station/mechanic/place.hpp"
#include "bench/station/pages/jobs.hpp"

#include <optional>
#include <string>
#include <vector>

namespace dropledger::station {

// Of a run that lies in the station's folder: its log's plain name.
[[nodiscard]] std::optional<std::string> name_here(const Place& place, const book::Book& book,
                                                   const book::Run& run);

// Closed logs and calibration records of the folder itself, by name.
[[nodiscard]] std::vector<std::string> not_in_the_book(const Place& place);

// Says how many there are, with a button that enters them; empty where there is none.
[[nodiscard]] std::string offer_to_enter(const Place& place);

// Enters them one by one, as `dropledger book add` does, and says what could not be entered.
[[nodiscard]] Response enter_folder(const Place& place, Jobs& jobs, const std::string& bar);

// A spoilt book is moved aside, and made anew of the folder, as `dropledger book rebuild` does. One that
// can be opened stays.
[[nodiscard]] Response make_book_anew(const Place& place, Jobs& jobs, const std::string& bar);

} // namespace dropledger::station
