#include "analysis/report/words/quantities.hpp"

#include <utility>

namespace dropledger::report {

namespace {

using measures::Aspect;
using measures::Quantity;

using Estimated = std::optional<statistics::Estimate>;

// One group under construction; rows share n until it is changed.
class GroupBuilder {
public:
    GroupBuilder(std::string key, std::string title, std::string section)
        : group_{std::move(key), std::move(title), std::move(section), {}} {}

    GroupBuilder& over(std::int64_t n, std::string n_of) {
        n_ = n;
        n_of_ = std::move(n_of);
        return *this;
    }
    GroupBuilder& row(const measures::Reported& what, const Estimated& estimate) {
        return row(what, words_of(what), estimate);
    }
    GroupBuilder& row(Quantity quantity, const Estimated& estimate) {
        return row({.quantity = quantity}, estimate);
    }
    GroupBuilder& row(Quantity quantity, std::string name, const Estimated& estimate) {
        return row({.quantity = quantity}, std::move(name), estimate);
    }
    [[nodiscard]] QuantityGroup built() { return std::move(group_); }

private:
    GroupBuilder& row(const measures::Reported& what, std::string name, const Estimated& estimate) {
        group_.rows.push_back({.key = key_of(what),
                               .name = std::move(name),
                               .unit = unit_of(what.quantity),
                               .estimate = estimate,
                               .n = n_,
                               .n_of = n_of_});
        return *this;
    }

    QuantityGroup group_;
    std::int64_t n_ = 0;
    std::string n_of_;
};

QuantityGroup index_group(const measures::SpacingResult& spacing) {
    return GroupBuilder("spacing", "Spacing indices (ISO 7256-1)", "3")
        .over(spacing.counts.intervals(), "theoretical intervals N'")
        .row(Quantity::quality_of_feed_index, spacing.iso.quality_of_feed)
        .row(Quantity::multiples_index, spacing.iso.multiples)
        .row(Quantity::miss_index, spacing.iso.misses)
        .over(spacing.counts.classes[1], "single spacings")
        .row(Quantity::precision, spacing.precision)
        .built();
}

QuantityGroup spacing_group(const measures::SpacingResult& spacing) {
    return GroupBuilder("per_spacing", "The spacings as measured", "3")
        .over(spacing.counts.spacings(), "spacings N")
        .row(Quantity::mean_mm, spacing.mean_mm)
        .row(Quantity::sd_mm, "standard deviation of spacings", spacing.sd_mm)
        .row(Quantity::quality_of_feed, spacing.per_spacing.quality_of_feed)
        .row(Quantity::multiples, spacing.per_spacing.multiples)
        .row(Quantity::misses, spacing.per_spacing.misses)
        .row(Quantity::cp3_reference, spacing.cp3_about_reference.share)
        .row(Quantity::cp3_fullest_band, spacing.cp3_fullest_band.share)
        .built();
}

std::int64_t drops_with_seed(const audit::ChannelReport& channel) {
    return channel.table.drops - channel.table.miss - channel.table.empty;
}

QuantityGroup placement_group(const audit::ChannelReport& channel) {
    const measures::PlacementResult& placement = *channel.placement;
    return GroupBuilder("placement", "Placement", "2")
        .over(channel.table.entered, "landings in entries")
        .row(Quantity::offset_mm, placement.offset_mm)
        .over(drops_with_seed(channel), "drops with seed")
        .row(Quantity::bias_mm, placement.bias_mm)
        .row(Quantity::sd_mm, "standard deviation of placement", placement.sd_mm)
        .row(Quantity::p95_abs_mm, placement.p95_abs_mm)
        .row(Quantity::within_allowance, placement.within_allowance)
        .built();
}

// Per commanded drop, whatever lies between the landings.
QuantityGroup shares_group(const audit::ChannelReport& channel) {
    GroupBuilder group("shares", "Shares of the commanded drops (the ledger's own)", "2");
    group.over(channel.table.drops, "drops");
    if (channel.mode == ledger::Mode::portion)
        group.row(Quantity::empty_share, channel.shares.empty)
            .row(Quantity::short_share, channel.shares.shorted)
            .row(Quantity::over_share, channel.shares.over);
    else
        group.row(Quantity::miss_share, channel.shares.miss)
            .row(Quantity::multiple_share, channel.shares.multiple);
    return group.built();
}

QuantityGroup portion_group(const audit::ChannelReport& channel) {
    const measures::PortionResult& portion = *channel.portion;
    return GroupBuilder("portion", "Portions", "2")
        .over(channel.table.drops, "drops")
        .row(Quantity::mean_count, portion.mean_count)
        .row(Quantity::exact_share, portion.exact_share)
        .over(drops_with_seed(channel), "drops with seed")
        .row(Quantity::spread_mm, portion.spread_mm)
        .built();
}

QuantityGroup line_group(const measures::LineResult& line) {
    return GroupBuilder("line", "Evenness along the line (ISO 7256-2)", "4")
        .over(line.segments, "whole segments")
        .row(Quantity::mean_per_m, line.mean_per_m)
        .row(Quantity::rate_error, line.rate_error)
        .row(Quantity::cv, line.cv)
        .row(Quantity::dispersion_index, line.dispersion_index)
        .built();
}

// Each row has its own n: the drops up to the decision, or of the run where that went on.
QuantityGroup sequential_group(const audit::ChannelReport& channel) {
    GroupBuilder group("sequential", "Shares per commanded drop of a run that stopped itself", "5");
    const bool portion = channel.mode == ledger::Mode::portion;
    const auto add = [&](Quantity quantity, const char* name,
                         const std::optional<audit::SequentialResult>& test) {
        if (test)
            group.over(test->ended_run ? test->path.decided_after() : test->path.entries(), "drops")
                .row(quantity, name, test->share);
    };
    add(Quantity::miss_share, portion ? "empty portions" : "misses per drop", channel.miss_test);
    add(Quantity::multiple_share, portion ? "portions over their count" : "multiples per drop",
        channel.multiples_test);
    return group.built();
}

QuantityGroup sensor_group(const audit::ChannelReport& channel) {
    GroupBuilder group("sensor",
                       "As the sensor saw it, and with the seeds put back that it overlooked", "5");
    if (channel.line)
        group.over(channel.line->segments, "whole segments");
    else
        group.over(channel.table.drops, "drops");
    group.row(Quantity::efficiency, channel.sensor.efficiency);
    for (const audit::SensorCorrection& one : channel.sensor.corrections) {
        group.row({one.quantity, Aspect::seen}, one.observed);
        group.row({one.quantity, Aspect::corrected}, one.corrected.estimate);
    }
    return group.built();
}

} // namespace

std::vector<QuantityGroup> quantity_groups(const audit::ChannelReport& channel) {
    std::vector<QuantityGroup> groups;
    if (channel.spacing) {
        groups.push_back(index_group(*channel.spacing));
        groups.push_back(spacing_group(*channel.spacing));
    }
    if (channel.has_ledger && channel.table.drops > 0)
        groups.push_back(shares_group(channel));
    if (channel.portion)
        groups.push_back(portion_group(channel));
    if (channel.placement)
        groups.push_back(placement_group(channel));
    if (channel.line)
        groups.push_back(line_group(*channel.line));
    if (channel.miss_test || channel.multiples_test)
        groups.push_back(sequential_group(channel));
    if (channel.sensor.efficiency)
        groups.push_back(sensor_group(channel));
    return groups;
}

} // namespace dropledger::report
