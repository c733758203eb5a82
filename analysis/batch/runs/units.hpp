// What counts over several units say of all units of their kind: how much they differ among
// themselves, and what share of them lies beyond a limit.
//
// Assumes: one count x of n entries per unit, units alike in kind. Shares are fractions.
// Undefined when: fewer than two units, or no hits, or only hits: the fit and what rests on it are
// empty.
#pragma once

#include "analysis/statistics/shares/beta_binomial.hpp"

#include <optional>
#include <span>

namespace dropledger::batch {

struct UnitsResult {
    // Hits over entries, widened by the variance between units
    std::optional<statistics::Estimate> pooled;
    std::optional<statistics::Tarone> tarone;
    std::optional<statistics::BetaBinomialFit> fit;
    std::optional<statistics::Estimate> share_outside; // of all units: own share above the limit
};

[[nodiscard]] UnitsResult compare_units(std::span<const statistics::Group> units, Share limit,
                                        Confidence confidence);

} // namespace dropledger::batch
