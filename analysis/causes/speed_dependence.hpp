// Does a unit do worse, or place differently, the faster it travels? Trends over runs at several
// speeds.
//
// Shares: trend of counts with speed as the score; offset: line through the runs' offsets, each
// weighted by its uncertainty. Where the runs scatter about their trend more than that (tested at 5
// %) the trend is measured by their scatter, with Student's t. Two-sided p-values, Holm over the
// quantities of one unit.
// Units: in the names; slopes per m/s.
// Undefined when: fewer than three speeds that lie at least 5 % apart: no trends.
// Source: Cochran 1954 and Armitage 1955 (trend of shares); weighted least squares.
#pragma once

#include "analysis/causes/cause.hpp"

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::causes {

struct Offset {
    double mm = 0.0;
    double u_mm = 0.0; // standard uncertainty
};

struct SpeedRun {
    double speed_mps = 0.0;
    std::int64_t drops = 0;
    std::int64_t misses = 0;
    std::optional<std::int64_t> multiples; // where single seeds are commanded
    std::optional<Offset> offset;
    double inflation = 1.0; // of the counts' variance, where drops depend on each other
};

struct SpeedTrend {
    enum class What { misses, multiples, offset };
    What what = What::misses;
    double slowest = 0.0; // fitted share, or mm, at the slowest run …
    double fastest = 0.0; // … and at the fastest
    double per_mps = 0.0;
    double p_value = 1.0; // Holm-adjusted
};

[[nodiscard]] std::int64_t distinct_speeds(std::span<const SpeedRun> runs);
[[nodiscard]] std::vector<SpeedTrend> speed_trends(std::span<const SpeedRun> runs);

struct SpeedWords {
    std::string_view misses = "misses";
    std::string_view runs = "runs";
};

// The trends beyond doubt (at 1 %) and large enough to matter (half a percent of drops, 3 mm), as
// kind speed_dependence.
[[nodiscard]] std::vector<Cause> speed_causes(std::span<const SpeedRun> runs,
                                              const SpeedWords& words = {});

} // namespace dropledger::causes
