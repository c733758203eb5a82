// Evenness along a line of seed: counts per segment of fixed length, their variation, the longest
// gap.
//
// Assumes: landings come in travel order. Segments start at the first landing (of each boot, and
// behind a gap of over a kilometre, whose segments do not count); only whole segments count. Way
// that was travelled without a seed before the first or behind the last landing counts where the
// caller says so (`unsown_um`): a unit that stops is no shorter line.
// Units: µm in, mm and seeds per metre out.
// Undefined when: fewer than two whole segments.
// Intervals: statistics' dependent_intervals.hpp and dispersion.hpp; the mean is never known better
// than to one seed over the whole length, which may or may not lie inside its ends.
// Source: ISO 7256-2:1984 (segment counts); the chi-square test of the index of dispersion is the
// usual one for a random line (counts per segment are Poisson).
#pragma once

#include "analysis/measures/dependent_series.hpp"
#include "analysis/statistics/values/dispersion.hpp"

#include <cstdint>
#include <optional>
#include <vector>

namespace dropledger::measures {

struct LineResult {
    std::int64_t segment_um = 0;
    std::int64_t segments = 0;
    std::int64_t seeds = 0;       // in whole segments
    std::int64_t total_seeds = 0; // all that landed
    std::optional<statistics::Estimate> mean_per_m;
    std::optional<statistics::MeanLaw> mean_law; // of seeds a segment; none without interval
    std::optional<statistics::Estimate> cv;
    std::optional<statistics::Estimate> dispersion_index;
    std::optional<statistics::Dispersion> dispersion; // with its test
    std::optional<statistics::Estimate> rate_error;   // mean/target − 1
    std::int64_t longest_gap_um = 0;
    std::int64_t unsown_um = 0; // beyond the first and last landing, counted as empty segments
    std::vector<std::int64_t> count_distribution; // segments with 0, 1, 2, … seeds
    std::vector<double> per_m_along; // seeds per metre along the line, decimated for a picture
    double metres_per_point = 0.0;
};

class LineTally {
public:
    explicit LineTally(std::int64_t segment_um);

    void add(std::int64_t position_um, std::uint32_t seeds);
    void end_segment(); // of the log: a boot in mid-run

    [[nodiscard]] std::int64_t seeds() const { return seeds_; }
    [[nodiscard]] std::int64_t span_um() const; // from first to last landing, of each boot
    [[nodiscard]] LineResult result(std::optional<std::int64_t> rate_per_m_milli,
                                    Confidence confidence) const;
    // With so much more of the line empty, a kilometre at the most.
    [[nodiscard]] LineTally with_unsown(std::int64_t unsown_um) const;

private:
    void close_segment();
    void add_to_picture();
    [[nodiscard]] std::optional<statistics::Estimate> mean_estimate(Confidence confidence) const;
    void add_dispersion(LineResult& result, Confidence confidence) const;

    std::int64_t segment_um_;
    std::optional<std::int64_t> segment_start_um_;
    std::int64_t last_um_ = 0;
    std::optional<std::int64_t> first_um_; // landing, of the boot
    std::int64_t span_um_ = 0;             // of those before
    std::int64_t in_segment_ = 0;
    std::int64_t longest_gap_um_ = 0;
    std::int64_t seeds_ = 0;
    statistics::CountSums sums_;
    DependentSeries counts_;
    std::vector<std::int64_t> distribution_;
    std::vector<std::int64_t> picture_; // seeds per `segments_per_point_` segments
    std::int64_t segments_per_point_ = 1;
    std::int64_t in_point_ = 0;
    std::int64_t point_seeds_ = 0;
};

} // namespace dropledger::measures
