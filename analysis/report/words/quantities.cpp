#include "analysis/report/words/quantities.hpp"

#include "analysis/report/words/plain.hpp"

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

std::int64_t drops_with_seed(const measures::LedgerTable& table) {
    return table.drops - table.miss - table.empty;
}

// "offset (median over landings), late"
std::string sided(Quantity quantity, const Estimated& place_mm, int direction) {
    std::string name{words_of(quantity)};
    if (const auto side = place_mm ? late_or_early(*place_mm, direction) : ""; !side.empty())
        name += ", " + std::string(side);
    return name;
}

QuantityGroup placement_group(const measures::LedgerTable& table,
                              const measures::PlacementResult& placement) {
    return GroupBuilder("placement", "Placement", "2")
        .over(table.entered, "landings in entries")
        .row(Quantity::offset_mm,
             sided(Quantity::offset_mm, placement.offset_mm, placement.direction),
             placement.offset_mm)
        .over(drops_with_seed(table), "drops with seed")
        .row(Quantity::bias_mm, sided(Quantity::bias_mm, placement.bias_mm, placement.direction),
             placement.bias_mm)
        .row(Quantity::sd_mm, "standard deviation of placement", placement.sd_mm)
        .row(Quantity::p95_abs_mm, placement.p95_abs_mm)
        .row(Quantity::within_allowance, placement.within_allowance)
        .built();
}

// Per commanded drop, whatever lies between the landings.
QuantityGroup shares_group(const audit::ChannelReport& channel) {
    GroupBuilder group("shares", "Shares of the commanded drops (the ledger's own)", "2");
    group.over(channel.drops()->table.drops, "drops");
    if (const audit::Portions* const portions = channel.portions())
        group.row(Quantity::empty_share, portions->shares.empty)
            .row(Quantity::short_share, portions->shares.shorted)
            .row(Quantity::over_share, portions->shares.over);
    if (const audit::SingleDrops* const single = channel.single())
        group.row(Quantity::miss_share, single->shares.miss)
            .row(Quantity::multiple_share, single->shares.multiple);
    return group.built();
}

QuantityGroup portion_group(const measures::LedgerTable& table,
                            const measures::PortionResult& portion) {
    return GroupBuilder("portion", "Portions", "2")
        .over(table.drops, "drops")
        .row(Quantity::mean_count, portion.mean_count)
        .row(Quantity::exact_share, portion.exact_share)
        .over(drops_with_seed(table), "drops with seed")
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
    const bool portion = channel.portions() != nullptr;
    const audit::CommandedDrops& drops = *channel.drops();
    const auto add = [&](Quantity quantity, const char* name,
                         const std::optional<audit::SequentialResult>& test) {
        if (test)
            group.over(test->ended_run ? test->path.decided_after() : test->path.entries(), "drops")
                .row(quantity, name, test->share);
    };
    add(Quantity::miss_share, portion ? "empty portions" : "misses per drop", drops.miss_test);
    add(Quantity::multiple_share, portion ? "portions over their count" : "multiples per drop",
        drops.multiples_test);
    return group.built();
}

QuantityGroup sensor_group(const audit::ChannelReport& channel) {
    GroupBuilder group("sensor",
                       "As the sensor saw it, and with the seeds put back that it overlooked", "5");
    const audit::Counted n = channel.counted();
    group.over(n.count, channel.line() != nullptr ? "whole segments" : std::string(n.what));
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
    if (const measures::SpacingResult* const spacing = channel.spacing()) {
        groups.push_back(index_group(*spacing));
        groups.push_back(spacing_group(*spacing));
    }
    const audit::CommandedDrops* const drops = channel.drops();
    if (drops != nullptr && drops->table.drops > 0)
        groups.push_back(shares_group(channel));
    if (const audit::Portions* const portions = channel.portions(); portions && portions->portion)
        groups.push_back(portion_group(drops->table, *portions->portion));
    if (drops != nullptr && drops->placement)
        groups.push_back(placement_group(drops->table, *drops->placement));
    if (const measures::LineResult* const line = channel.line())
        groups.push_back(line_group(*line));
    if (drops != nullptr && (drops->miss_test || drops->multiples_test))
        groups.push_back(sequential_group(channel));
    if (channel.sensor.efficiency)
        groups.push_back(sensor_group(channel));
    return groups;
}

} // namespace dropledger::report
