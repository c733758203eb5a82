#include "analysis/audit/series.hpp"

#include "analysis/base/enum_names.hpp"
#include "analysis/measures/number_words.hpp"
#include "analysis/statistics/basics/distributions.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

namespace dropledger::audit {

namespace {

// The half width of the interval, taken back to one standard uncertainty.
std::optional<causes::Offset> offset_of(const CommandedDrops& drops) {
    if (!drops.placement || !drops.placement->offset_mm || !drops.placement->offset_mm->interval)
        return std::nullopt;
    const statistics::Estimate& offset = *drops.placement->offset_mm;
    const double half = (offset.interval->high - offset.interval->low) / 2.0;
    return causes::Offset{
        offset.value, half / statistics::normal_quantile(0.5 + offset.confidence.level() / 2.0)};
}

causes::SpeedRun run_of(const AuditReport& report, const CommandedDrops& drops) {
    const bool single = report.setup.mode == ledger::Mode::single;
    const auto duration_us = static_cast<double>(report.travelled.duration_us);
    causes::SpeedRun run;
    run.speed_mps =
        duration_us > 0.0 ? static_cast<double>(report.travelled.distance_um) / duration_us : 0.0;
    run.drops = drops.table.drops;
    run.misses = single ? drops.table.miss : drops.table.empty;
    if (single)
        run.multiples = drops.table.multiple;
    run.offset = offset_of(drops);
    run.inflation =
        std::max(drops.misses_independence.inflation, drops.multiples_independence.inflation);
    return run;
}

UnitSeries& series_for(std::vector<UnitSeries>& all, const std::string& unit) {
    const auto found = std::find_if(all.begin(), all.end(),
                                    [&](const UnitSeries& one) { return one.unit == unit; });
    if (found != all.end())
        return *found;
    UnitSeries& added = all.emplace_back();
    added.unit = unit;
    return added;
}

constexpr std::array trend_names{EnumName{causes::SpeedTrend::What::misses, "misses"},
                                 EnumName{causes::SpeedTrend::What::multiples, "multiples"},
                                 EnumName{causes::SpeedTrend::What::offset, "offset_mm"}};
static_assert(names_all<trend_names>());

} // namespace

std::vector<UnitSeries> unit_series(const std::vector<AuditReport>& reports) {
    std::vector<UnitSeries> all;
    for (const AuditReport& report : reports)
        for (const ChannelReport& channel : report.channels)
            if (const CommandedDrops* const drops = channel.drops();
                drops != nullptr && !channel.unit.empty())
                series_for(all, channel.unit).runs.push_back({report.file, run_of(report, *drops)});
    std::vector<UnitSeries> wanted;
    for (UnitSeries& series : all) {
        std::vector<causes::SpeedRun> runs;
        for (const SeriesRun& one : series.runs)
            runs.push_back(one.run);
        series.trends = causes::speed_trends(runs);
        series.causes = causes::speed_causes(runs);
        if (causes::distinct_speeds(runs) >= 3)
            wanted.push_back(std::move(series));
    }
    return wanted;
}

std::string_view name_of(causes::SpeedTrend::What what) {
    return row_in(trend_names, what).key;
}

} // namespace dropledger::audit
