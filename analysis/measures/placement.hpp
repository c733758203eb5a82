// Where seeds landed against where they were commanded: offset, scatter, tails, share inside an allowance.
//
// Assumes: errors are landing − commanded position in the direction of travel; an entry with several seeds has
// its centroid.
// Units: errors in µm, results in mm or as fractions. Undefined when: nothing landed.
// How: where errors of neighbouring drops hang together (a drifting valve), the ranks of the quantiles' intervals
// are set apart by the square root of the errors' variance inflation, and the share's interval by its own.
#pragma once

#include "analysis/measures/block_moments.hpp"
#include "analysis/measures/fine_histogram.hpp"
#include "analysis/measures/kind_sequence.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::measures {

struct PlacementResult {
    int direction = 1; // -1: the signs below are those of the log, against the direction of travel
    std::optional<statistics::Estimate> offset_mm;  // median over landings: the registration b
    std::optional<statistics::Estimate> bias_mm;    // mean over entries
    std::optional<statistics::Estimate> lone_bias_mm; // mean over entries of one seed: a double's second one comes later
    std::optional<statistics::Estimate> sd_mm;      // over entries, about their mean
    std::optional<statistics::Estimate> p95_abs_mm; // of |e| over entries, type 7
    std::optional<statistics::Estimate> within_allowance;
};

class PlacementTally {
public:
    // `allowance_um`: of the profile; the share inside it can then be tested for independence.
    explicit PlacementTally(std::optional<std::int64_t> allowance_um = std::nullopt)
        : allowance_um_(allowance_um) {}

    void add_landing(std::int64_t error_um, std::uint32_t seeds) { landings_.add(error_um, seeds); }
    void add_entry(std::int64_t error_um, std::uint32_t seeds = 1);

    // `allowance_um` as given at the start. `direction`: −1 where travel counts down, so that signs come out in the log's own coordinates.
    [[nodiscard]] PlacementResult result(std::optional<std::int64_t> allowance_um, int direction,
                                         Confidence confidence) const;

    [[nodiscard]] std::optional<std::int64_t> median_landing_um() const;
    // Landings within `margin` of the border between two drops, for a registration in use.
    [[nodiscard]] std::int64_t near_border(std::int64_t registration_um, std::int64_t spacing_um,
                                           std::int64_t margin_um) const;

private:
    [[nodiscard]] FineHistogram magnitudes() const; // |e|

    std::optional<std::int64_t> allowance_um_;
    KindSequence inside_;
    FineHistogram landings_;
    FineHistogram entries_;
    BlockMoments moments_;
    BlockMoments lone_;
};

} // namespace dropledger::measures
