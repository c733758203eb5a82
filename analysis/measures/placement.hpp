// Where seeds landed against where they were commanded: offset, scatter, tails, share inside an
// allowance.
//
// Assumes: errors are landing − commanded position in the direction of travel; an entry with
// several seeds has its centroid.
// Units: errors in µm, results in mm or as fractions.
// Undefined when: nothing landed.
// How: errors of neighbouring drops may hang together (a valve that wanders): all intervals are
// averaged over what the run leaves open of that (statistics' dependent_intervals.hpp). Seeds of
// one portion share the valve's error: the offset, which counts landings, is widened by how much
// more the portions' sums vary than independent landings would.
#pragma once

#include "analysis/measures/dependent_series.hpp"
#include "analysis/measures/fine_histogram.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::measures {

struct PlacementResult {
    int direction = 1; // -1: the signs below are those of the log, against the direction of travel
    std::optional<statistics::Estimate> offset_mm; // median over landings: the registration b
    std::optional<statistics::Estimate> bias_mm;   // mean over entries
    // Mean over entries of one seed: a double's second one comes later
    std::optional<statistics::Estimate> lone_bias_mm;
    std::optional<statistics::Estimate> sd_mm;      // over entries, about their mean
    std::optional<statistics::Estimate> p95_abs_mm; // of |e| over entries, type 7
    std::optional<statistics::Estimate> within_allowance;
    // What is known of the bias; none without interval
    std::optional<statistics::MeanLaw> bias_law_um;
};

class PlacementTally {
public:
    void add_landing(std::int64_t error_um, std::uint32_t seeds) { landings_.add(error_um, seeds); }
    void add_entry(std::int64_t error_um, std::uint32_t seeds = 1);

    // `direction`: −1 where travel counts down, so that signs come out in the log's own
    // coordinates.
    [[nodiscard]] PlacementResult result(std::optional<std::int64_t> allowance_um, int direction,
                                         Confidence confidence) const;

    [[nodiscard]] std::optional<std::int64_t> median_landing_um() const;
    // Landings within `margin` of the border between two drops, for a registration in use.
    [[nodiscard]] std::int64_t near_border(std::int64_t registration_um, std::int64_t spacing_um,
                                           std::int64_t margin_um) const;

private:
    [[nodiscard]] FineHistogram magnitudes() const; // |e|
    [[nodiscard]] double cluster_inflation(Confidence confidence) const;
    [[nodiscard]] double kurtosis() const;

    // Of entries: m seeds whose errors add up to t.
    struct ClusterSums {
        Wide squares = 0;       // t²
        Wide products = 0;      // m·t
        std::int64_t sizes = 0; // m²
    };

    FineHistogram landings_;
    FineHistogram entries_;
    DependentSeries errors_um_;
    DependentSeries lone_um_;
    ClusterSums clusters_;
};

} // namespace dropledger::measures
