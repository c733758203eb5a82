// What a person drops on the farmer's page: a table, a log of the machine, or something else.
//
// Assumes: `bytes` is the whole file. Undefined when: never; a file that is neither is refused, with
// what to do with it.
#pragma once

#include "analysis/base/result.hpp"

#include <string>
#include <string_view>

namespace dropledger::station {

enum class Dropped { table, log };

[[nodiscard]] Result<Dropped> what_was_dropped(const std::string& name, const std::string& bytes);

// Under its own name, with the ending of its kind; where another file has that, with a number behind:
// NIGHT.CSV, night.txt, night-2.csv. The same bytes keep their name.
[[nodiscard]] std::string kept_name(const std::string& folder, const std::string& name,
                                    const std::string& bytes, std::string_view ending);

} // namespace dropledger::station
