// True rate and evenness of a line from what a gate saw, when it overlooks some seeds.
//
// Counts per segment with mean m and variance/mean D, thinned by η, show η·m and 1 + η·(D − 1): a
// poor gate makes any line look more like a random one. Undone:
//   rate/η     dispersion = 1 + (D − 1)/η     cv² = cv_seen² − (1 − η)/m_seen     (m: seeds a segment)
// Interval: each side's own distance from the counts and from the efficiency, in quadrature;
// checked against simulation.
// Assumes: each seed is overlooked independently. The longest gap can't be corrected: a seed
// overlooked in it has no place.
// Undefined when: nothing was seen, an observed quantity or the efficiency has no interval:
// std::nullopt.
#pragma once

#include "analysis/measures/corrections/sensor_correction.hpp"
#include "analysis/measures/line.hpp"

#include <optional>

namespace dropledger::measures {

struct CorrectedLine {
    std::optional<Corrected> mean_per_m;
    std::optional<Corrected> rate_error;
    std::optional<Corrected> cv;
    std::optional<Corrected> dispersion_index;
};

[[nodiscard]] CorrectedLine corrected_line(const LineResult& observed,
                                           const statistics::Estimate& efficiency,
                                           Confidence confidence);

} // namespace dropledger::measures
