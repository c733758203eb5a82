// How long the portions are on the ground, from first to last seed, against the limit of their
// mean.
//
// Undefined when: no portion has two seeds: an empty string.
#pragma once

#include "analysis/measures/entries.hpp"

#include <optional>
#include <string>

namespace dropledger::report::pictures {

[[nodiscard]] std::string portion_chart(const measures::PortionResult& portion,
                                        std::optional<double> limit_mm);

} // namespace dropledger::report::pictures
