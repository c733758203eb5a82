// Mean and standard deviation of all spacings, from what they are made of: how many places each one
// spans, by the chain of the misses, and what it differs from so many places.
//
// A spacing is g·x_ref + residual: g = 0 a multiple, 1 a single, 1 + L after L misses. So
//   mean = x_ref·(1 − u)/(1 − π) + mean residual
//   variance = x_ref²·var(g) + var(residual) + what the sample says of their covariance
// u the share of multiples among the spacings, π the share of misses among the places.
// Assumes: rows of misses start and end as in statistics/row_share.hpp; where rows are not
// geometric, the sample's own second moment stands beside the chain's, and the interval holds both.
// Units: µm.
// Undefined when: fewer than two spacings: no interval.
// Source: parts added by their limits' distances in quadrature (Zou & Donner 2008).
#pragma once

#include "analysis/statistics/basics/estimate.hpp"
#include "analysis/statistics/shares/rows.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::measures {

struct SpacingParts {
    std::int64_t reference_um = 0;
    std::int64_t spacings = 0;
    statistics::RowCounts misses;   // along the places: those with a seed, and the missed ones
    double crowding = 1.0;          // of the misses' rows
    statistics::Estimate multiples; // u, with the interval to add
    double place_variance = 0.0;    // of g, sample
    std::optional<statistics::Estimate> residual_mean_um;
    std::optional<statistics::Estimate> residual_sd_um;
    double mean_um = 0.0; // of all spacings, sample
    double sd_um = 0.0;
};

[[nodiscard]] statistics::Estimate mean_of_spacings(const SpacingParts& parts,
                                                    Confidence confidence);
[[nodiscard]] statistics::Estimate sd_of_spacings(const SpacingParts& parts, Confidence confidence);

} // namespace dropledger::measures
