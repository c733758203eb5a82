// The live part of the run's page and the bar of every page, from the model that the terminal shows.
#pragma once

#include "bench/commands/run/screen/screen_text.hpp"

#include <string>
#include <vector>

namespace dropledger::station {

// The last drops of a unit, newest at the right: a mark for each, another shape for each kind.
[[nodiscard]] std::string last_drops(const cli::ScreenUnit& unit);

[[nodiscard]] std::string live_part(const cli::ScreenModel& model);

// `number`: of the run; `words`: what is on, plain text.
[[nodiscard]] std::string run_bar(const std::string& number, const std::string& words);

// Before motors start, with its heading.
[[nodiscard]] std::string start_cautions_part();

// Plain texts, as a list.

// Plain texts, the newest first.
[[nodiscard]] std::string happenings(const std::vector<std::string>& said);

} // namespace dropledger::station
