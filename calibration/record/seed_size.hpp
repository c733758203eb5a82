// How large a lot's seed is, from its thousand-seed mass, and whether a calibration's seed size
// range holds for it.
//
// Seeds of one crop differ little in density and shape, so size grows with the cube root of mass.
// The crop's facts (calibration/crops: lightest with smallest, heaviest with largest) give the
// factor, from two ends a range of it.
// Units: mm.
// Undefined when: the log states no crop or no thousand-seed mass, or no mass and size of that crop
// are known: then it can't be checked, and the words say why.
#pragma once

#include "analysis/droplog/integrity.hpp"
#include "analysis/statistics/basics/estimate.hpp"

#include <optional>
#include <string>

namespace dropledger::calibration {

struct LotSize {
    std::optional<statistics::Interval> mm;
    std::string words; // how large and by what; or why it is not known
};

[[nodiscard]] LotSize lot_size(const droplog::Header& header);

enum class SizeFit { inside, partly, outside, unknown };

[[nodiscard]] SizeFit size_fit(const statistics::Interval& holds_for_mm, const LotSize& lot);

} // namespace dropledger::calibration
