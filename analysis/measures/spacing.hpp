// Spacing indices of ISO 7256-1 (multiples, miss, quality of feed, precision), the same shares per
// spacing (Kachman & Smith 1995), CP3 and the histogram, from spacings between neighbouring
// landings.
//
// Units: spacings in µm, results in mm or as fractions.
// Undefined when: n1 < 0 (more than half of the spacings are multiples) or N' = 0: the three ISO
// indices; fewer than two single spacings: precision. The reason stands in `notes`.
// Source: ISO 7256-1:1984; Kachman & Smith 1995, Trans. ASAE 38(2):379–387; see
// analysis/REFERENCES.md.
#pragma once

#include "analysis/measures/block_moments.hpp"
#include "analysis/measures/dependent_series.hpp"
#include "analysis/measures/fine_histogram.hpp"
#include "analysis/measures/kind_sequence.hpp"
#include "analysis/measures/spacing_spread.hpp"

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::measures {

constexpr std::size_t histogram_classes = 50; // of 0.1 x_ref; what is longer is counted apart

struct IndexCounts {
    std::array<std::int64_t, 5> classes{}; // n'1 … n'5

    [[nodiscard]] std::int64_t spacings() const;  // N
    [[nodiscard]] std::int64_t multiples() const; // n2
    [[nodiscard]] std::int64_t misses() const;    // n0
    [[nodiscard]] std::int64_t singles() const;   // n1, negative where most spacings are multiples
    [[nodiscard]] std::int64_t intervals() const; // N'
    [[nodiscard]] bool defined() const { return singles() >= 0 && intervals() > 0; }
};

// The class (0 … 4) of a spacing; an edge belongs to the lower one.
[[nodiscard]] std::size_t spacing_class(std::int64_t spacing_um, std::int64_t reference_um);

struct ThreeShares {
    std::optional<statistics::Estimate> multiples;
    std::optional<statistics::Estimate> misses;
    std::optional<statistics::Estimate> quality_of_feed;
};

struct Cp3 {
    std::int64_t inside = 0; // spacings in the band, of all
    std::optional<statistics::Estimate> share;
    double centre_mm = 0.0;
};

struct SpacingResult {
    std::int64_t reference_um = 0;
    IndexCounts counts;
    ThreeShares iso;                               // over N'
    ThreeShares per_spacing;                       // over N
    std::optional<statistics::Estimate> precision; // C = s/x_ref, divisor n'2 − 1
    std::optional<statistics::Estimate> mean_mm;
    std::optional<statistics::Estimate> sd_mm;
    std::vector<std::int64_t> histogram; // classes of 0.1 x_ref, an edge belongs to the lower
    std::int64_t beyond_histogram = 0;
    Cp3 cp3_about_reference;
    Cp3 cp3_fullest_band;
    Independence misses_independence; // of the intervals that should have held one seed (N')
    Independence multiples_independence;
    std::vector<std::string> notes;
};

class SpacingTally {
public:
    explicit SpacingTally(std::int64_t reference_um);

    // Throws BrokenInvariant where the spacing is negative: landings come in travel order.
    void add(std::int64_t spacing_um);

    [[nodiscard]] const IndexCounts& counts() const { return counts_; }
    [[nodiscard]] SpacingResult result(Confidence confidence) const;

private:
    [[nodiscard]] std::optional<statistics::Interval>
    multiples_per_interval(Confidence confidence) const;
    [[nodiscard]] bool band_is_single() const;
    [[nodiscard]] statistics::Estimate share_in_band(Confidence confidence) const;
    [[nodiscard]] std::optional<statistics::Estimate> misses_index(Confidence confidence) const;
    [[nodiscard]] std::optional<statistics::Estimate> multiples_index(Confidence confidence) const;
    [[nodiscard]] statistics::Estimate gaps_per_spacing(Confidence confidence) const;
    [[nodiscard]] statistics::Estimate multiples_per_spacing(Confidence confidence) const;
    [[nodiscard]] statistics::Estimate multiples_among(std::int64_t spacings,
                                                       Confidence confidence) const;
    [[nodiscard]] SpacingParts parts(Confidence confidence) const;
    [[nodiscard]] double kurtosis_of_singles() const;
    [[nodiscard]] std::optional<statistics::Estimate> precision(Confidence confidence) const;
    void add_intervals(std::size_t spacing_class);
    void add_places(std::int64_t spacing_um);
    void add_cp3(SpacingResult& result, Confidence confidence) const;
    void add_iso(SpacingResult& result, Confidence confidence) const;
    void add_per_spacing(SpacingResult& result, Confidence confidence) const;
    void add_spread(SpacingResult& result, Confidence confidence) const;

    std::int64_t reference_um_;
    IndexCounts counts_;
    BlockMoments all_;
    DependentSeries singles_;
    BlockMoments residuals_; // spacing − as many places as it spans
    FineHistogram fine_;
    std::vector<std::int64_t> histogram_;
    std::int64_t beyond_ = 0;
    std::int64_t places_ = 0; // spanned by all spacings
    Wide places_squared_ = 0;
    KindSequence in_band_;   // of CP3 about the reference, one entry a spacing that could be
    KindSequence multiples_; // one entry a theoretical interval
    KindSequence misses_;
    bool multiple_waits_ = false; // its interval is not complete yet
};

} // namespace dropledger::measures
