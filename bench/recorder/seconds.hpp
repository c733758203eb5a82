// A time for a person to read.
#pragma once

#include "analysis/base/units.hpp"

namespace dropledger::recorder {

[[nodiscard]] inline double seconds(Microseconds time) {
    return static_cast<double>(time.count()) / 1e6;
}

} // namespace dropledger::recorder
