// The spacings in classes of a tenth of the theoretical one, with the five ISO 7256-1 classes
// marked and named.
#pragma once

#include "analysis/measures/spacing.hpp"

#include <string>

namespace dropledger::report::pictures {

[[nodiscard]] std::string spacing_histogram(const measures::SpacingResult& spacing);

} // namespace dropledger::report::pictures
