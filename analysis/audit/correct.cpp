#include "analysis/audit/correct.hpp"

#include "analysis/measures/number_words.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::audit {

using ledger::Mode;
using measures::Corrected;
using statistics::Estimate;
using statistics::Interval;

namespace {

using Estimated = std::optional<Estimate>;

// As the rows were seen, and as the test of a run that could stop itself allows.
std::optional<Interval> seen_interval(const Estimated& share) {
    return share ? share->interval : std::nullopt;
}

std::vector<SensorCorrection> single_corrections(const AuditReport& report,
                                                 const ChannelReport& channel) {
    const Confidence confidence = report.profile.confidence;
    const measures::ObservedShares seen = observed_shares(channel);
    const auto found = measures::corrected_shares(seen, *channel.sensor.efficiency, confidence);
    if (!found)
        return {};
    return {{Quantity::miss_index, channel.shares.miss, found->miss},
            {Quantity::multiples_index, channel.shares.multiple, found->multiple},
            {Quantity::quality_of_feed_index, channel.shares.single, found->single}};
}

std::vector<SensorCorrection> portion_corrections(const AuditReport& report,
                                                  const ChannelReport& channel) {
    const Confidence confidence = report.profile.confidence;
    const Estimate& efficiency = *channel.sensor.efficiency;
    std::vector<SensorCorrection> out;
    if (channel.portion && channel.portion->mean_count)
        if (auto mean = measures::scaled_up(*channel.portion->mean_count, efficiency, confidence))
            out.push_back({Quantity::mean_count, channel.portion->mean_count, *std::move(mean)});
    const auto target = common_target(report, channel);
    if (!channel.portion || !target)
        return out;
    const measures::ObservedPortions seen = observed_portions(channel, *target);
    const auto found = measures::corrected_portions(seen, efficiency, confidence);
    if (!found)
        return out;
    out.push_back({Quantity::exact_share, channel.portion->exact_share, found->exact});
    out.push_back({Quantity::empty_share, channel.shares.empty, found->empty});
    out.push_back({Quantity::short_share, channel.shares.shorted, found->shorted});
    out.push_back({Quantity::over_share, channel.shares.over, found->over});
    return out;
}

std::vector<SensorCorrection> line_corrections(const AuditReport& report,
                                               const ChannelReport& channel) {
    std::vector<SensorCorrection> out;
    if (!channel.line)
        return out;
    const measures::LineResult& line = *channel.line;
    auto found =
        measures::corrected_line(line, *channel.sensor.efficiency, report.profile.confidence);
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
    switch (channel.mode) {
    case Mode::single:
        return single_corrections(report, channel);
    case Mode::portion:
        return portion_corrections(report, channel);
    case Mode::line:
        return line_corrections(report, channel);
    }
    throw BrokenInvariant("a channel without a mode");
}

} // namespace

// Corrected shares stand per commanded drop, whichever of the two the limit is of.
Quantity corrected_as(Quantity quantity) {
    if (quantity == Quantity::miss_share)
        return Quantity::miss_index;
    return quantity == Quantity::multiple_share ? Quantity::multiples_index : quantity;
}

const SensorCorrection* Sensor::correction(Quantity quantity) const {
    const auto found =
        std::find_if(corrections.begin(), corrections.end(), [&](const SensorCorrection& one) {
            return one.quantity == corrected_as(quantity);
        });
    return found == corrections.end() ? nullptr : &*found;
}

std::optional<std::size_t> common_target(const AuditReport& report, const ChannelReport& channel) {
    if (!channel.portion || !report.setup.count)
        return std::nullopt;
    const std::size_t target = *report.setup.count;
    const auto& distribution = channel.portion->count_distribution;
    const std::int64_t of_target = target < distribution.size() ? distribution[target] : 0;
    return of_target == channel.table.exact ? std::optional{target} : std::nullopt;
}

measures::ObservedShares observed_shares(const ChannelReport& channel) {
    const measures::LedgerTable& table = channel.table;
    return {.drops = table.drops,
            .miss = table.miss,
            .multiple = table.multiple,
            .miss_inflation = channel.misses_independence.inflation,
            .multiple_inflation = channel.multiples_independence.inflation,
            .miss_no_narrower = seen_interval(channel.shares.miss),
            .multiple_no_narrower = seen_interval(channel.shares.multiple)};
}

measures::ObservedPortions observed_portions(const ChannelReport& channel, std::size_t target) {
    return {.distribution = channel.portion->count_distribution,
            .target = target,
            .empty_inflation = channel.misses_independence.inflation,
            .exact_inflation = channel.portion->exact_inflation,
            .over_inflation = channel.multiples_independence.inflation,
            .empty_no_narrower = seen_interval(channel.shares.empty),
            .over_no_narrower = seen_interval(channel.shares.over)};
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
            "have "
            "seen what gate {} saw. Nothing is corrected by it, and the run is judged as the gate "
            "saw "
            "it. Was the gate cleaned or changed since? Calibrate anew.",
            calibration.id, value_words(*calibration.efficiency, Unit::percent), channel.gate));
        return;
    }
    if (const SensorCorrection* const miss = sensor.correction(Quantity::miss_index))
        sensor.corrected_miss = miss->corrected.estimate;
    if (channel.mode == Mode::single && !sensor.corrections.empty())
        sensor.empty_drops = measures::empty_drops(
            observed_shares(channel), *calibration.efficiency, report.profile.confidence);
    sensor.judges_corrected =
        calibration.judges && channel.pulses > 0 && !sensor.corrections.empty();
}

} // namespace dropledger::audit
