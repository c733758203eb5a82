#include "analysis/audit/correct.hpp"

#include "analysis/base/cases.hpp"
#include "analysis/measures/corrections/line_correction.hpp"
#include "analysis/measures/number_words.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::audit {

using measures::Corrected;
using statistics::Estimate;
using statistics::Interval;

namespace {

using Estimated = std::optional<Estimate>;

// As the rows were seen, and as the test of a run that could stop itself allows.
std::optional<Interval> seen_interval(const Estimated& share) {
    return share ? share->interval : std::nullopt;
}

std::vector<SensorCorrection>
single_corrections(const SingleDrops& single, const Estimate& efficiency, Confidence confidence) {
    const auto found = measures::corrected_shares(observed_shares(single), efficiency, confidence);
    if (!found)
        return {};
    return {{Quantity::miss_index, single.shares.miss, found->miss},
            {Quantity::multiples_index, single.shares.multiple, found->multiple},
            {Quantity::quality_of_feed_index, single.shares.single, found->single}};
}

std::vector<SensorCorrection> portion_corrections(const AuditReport& report,
                                                  const Portions& portions,
                                                  const Estimate& efficiency) {
    if (!portions.portion)
        return {};
    const Confidence confidence = report.profile.confidence;
    std::vector<SensorCorrection> out;
    if (const Estimated& seen = portions.portion->mean_count)
        if (auto mean = measures::scaled_up(*seen, efficiency, confidence))
            out.push_back({Quantity::mean_count, seen, *std::move(mean)});
    const auto target = common_target(report, portions);
    if (!target)
        return out;
    const auto found =
        measures::corrected_portions(observed_portions(portions, *target), efficiency, confidence);
    if (!found)
        return out;
    const measures::PortionShares& shares = portions.shares;
    out.push_back({Quantity::exact_share, portions.portion->exact_share, found->exact});
    out.push_back({Quantity::empty_share, shares.empty, found->empty});
    out.push_back({Quantity::short_share, shares.shorted, found->shorted});
    out.push_back({Quantity::over_share, shares.over, found->over});
    return out;
}

std::vector<SensorCorrection> line_corrections(const measures::LineResult& line,
                                               const Estimate& efficiency, Confidence confidence) {
    std::vector<SensorCorrection> out;
    auto found = measures::corrected_line(line, efficiency, confidence);
    const auto add = [&](Quantity quantity, const Estimated& observed,
                         std::optional<Corrected>& corrected) {
        if (corrected)
            out.push_back({quantity, observed, *std::move(corrected)});
    };
    add(Quantity::mean_per_m, line.mean_per_m, found.mean_per_m);
    add(Quantity::rate_error, line.rate_error, found.rate_error);
    add(Quantity::cv, line.cv, found.cv);
    add(Quantity::dispersion_index, line.dispersion_index, found.dispersion_index);
    return out;
}

std::vector<SensorCorrection> corrections(const AuditReport& report, const ChannelReport& channel) {
    using All = std::vector<SensorCorrection>;
    const Confidence confidence = report.profile.confidence;
    const Estimate& efficiency = *channel.sensor.efficiency;
    return std::visit(Cases{[&](const SingleDrops& single) {
                                return single_corrections(single, efficiency, confidence);
                            },
                            [&](const Portions& portions) {
                                return portion_corrections(report, portions, efficiency);
                            },
                            [&](const measures::LineResult& line) {
                                return line_corrections(line, efficiency, confidence);
                            },
                            [](const measures::SpacingResult&) -> All {
                                throw BrokenInvariant("a list of spacings has no gate");
                            }},
                      channel.results);
}

} // namespace

std::optional<std::size_t> common_target(const AuditReport& report, const Portions& portions) {
    if (!portions.portion || !report.setup.count)
        return std::nullopt;
    const std::size_t target = *report.setup.count;
    const auto& distribution = portions.portion->count_distribution;
    const std::int64_t of_target = target < distribution.size() ? distribution[target] : 0;
    return of_target == portions.drops.table.exact ? std::optional{target} : std::nullopt;
}

measures::ObservedShares observed_shares(const SingleDrops& single) {
    const CommandedDrops& drops = single.drops;
    return {.drops = drops.table.drops,
            .miss = drops.table.miss,
            .multiple = drops.table.multiple,
            .miss_inflation = drops.misses_independence.inflation,
            .multiple_inflation = drops.multiples_independence.inflation,
            .miss_no_narrower = seen_interval(single.shares.miss),
            .multiple_no_narrower = seen_interval(single.shares.multiple)};
}

measures::ObservedPortions observed_portions(const Portions& portions, std::size_t target) {
    const CommandedDrops& drops = portions.drops;
    return {.distribution = portions.portion->count_distribution,
            .target = target,
            .empty_inflation = drops.misses_independence.inflation,
            .exact_inflation = portions.portion->exact_inflation,
            .over_inflation = drops.multiples_independence.inflation,
            .empty_no_narrower = seen_interval(portions.shares.empty),
            .over_no_narrower = seen_interval(portions.shares.over)};
}

void correct_for_sensor(const AuditReport& report, const GateCalibration& calibration,
                        ChannelReport& channel) {
    if (!calibration.efficiency)
        return;
    Sensor& sensor = channel.sensor;
    sensor.calibration = calibration.id;
    sensor.efficiency = calibration.efficiency;
    sensor.source = {calibration.efficiency_found_by, calibration.efficiency_assumption};
    sensor.corrections = corrections(report, channel);
    if (std::any_of(sensor.corrections.begin(), sensor.corrections.end(),
                    [](const SensorCorrection& one) { return one.corrected.contradicted; })) {
        sensor.corrections.clear();
        sensor.contradicted = true;
        channel.notes.push_back(fmt::format(
            "Calibration {} contradicts this run: a gate that counts {} of the seeds could not "
            "have seen what gate {} saw. Nothing is corrected by it, and the run is judged as the "
            "gate saw it. Was the gate cleaned or changed since? Calibrate anew.",
            calibration.id, value_words(*calibration.efficiency, Unit::percent), channel.gate));
        return;
    }
    if (const SensorCorrection* const miss = sensor.correction(Quantity::miss_index))
        sensor.corrected_miss = miss->corrected.estimate;
    if (const SingleDrops* const single = channel.single(); single && !sensor.corrections.empty())
        sensor.empty_drops = measures::empty_drops(
            observed_shares(*single), *calibration.efficiency, report.profile.confidence);
    sensor.judges_corrected =
        calibration.judges && channel.pulses > 0 && !sensor.corrections.empty();
}

} // namespace dropledger::audit
