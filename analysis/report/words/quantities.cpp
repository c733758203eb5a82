#include "analysis/report/words/quantities.hpp"

#include <algorithm>
#include <array>

namespace dropledger::report {

namespace {

struct Known {
    std::string_view key;
    std::string_view name;
    Unit unit;
    std::string_view section;
};

constexpr std::array<Known, 33> known_quantities{{
    {"multiples_index", "multiples index D", Unit::percent, "3"},
    {"miss_index", "miss index M", Unit::percent, "3"},
    {"quality_of_feed_index", "quality of feed index A", Unit::percent, "3"},
    {"precision", "precision C", Unit::percent, "3"},
    {"multiples", "multiples per spacing", Unit::percent, "3"},
    {"misses", "misses per spacing", Unit::percent, "3"},
    {"quality_of_feed", "quality of feed per spacing", Unit::percent, "3"},
    {"mean_mm", "mean spacing", Unit::millimetres, "3"},
    {"cp3_reference", "CP3 about the theoretical spacing", Unit::percent, "3"},
    {"cp3_fullest_band", "CP3 about the fullest band", Unit::percent, "3"},
    {"offset_mm", "offset (median over landings)", Unit::millimetres, "2"},
    {"bias_mm", "bias (mean over entries)", Unit::millimetres, "2"},
    {"sd_mm", "standard deviation", Unit::millimetres, "2"},
    {"p95_abs_mm", "95th percentile of |error|", Unit::millimetres, "2"},
    {"within_allowance", "inside the allowance", Unit::percent, "2"},
    {"mean_count", "mean seeds per portion", Unit::ratio, "2"},
    {"exact_share", "portions of exactly the count", Unit::percent, "2"},
    {"empty_share", "empty portions", Unit::percent, "2"},
    {"short_share", "short portions", Unit::percent, "2"},
    {"over_share", "portions over their count", Unit::percent, "2"},
    {"spread_mm", "length of a portion (mean)", Unit::millimetres, "2"},
    {"mean_per_m", "seeds per metre (mean)", Unit::per_metre, "4"},
    {"cv", "coefficient of variation", Unit::percent, "4"},
    {"line_cv", "coefficient of variation", Unit::percent, "4"},
    {"dispersion_index", "index of dispersion", Unit::ratio, "4"},
    {"rate_error", "rate error", Unit::percent, "4"},
    {"longest_gap_mm", "longest gap", Unit::millimetres, "4"},
    {"efficiency", "efficiency of the judging gate", Unit::percent, "5"},
    {"corrected_miss", "misses per drop, corrected", Unit::percent, "5"},
    {"miss_share", "miss share", Unit::percent, "2"},
    {"multiple_share", "share of multiples", Unit::percent, "2"},
    {"bias", "bias", Unit::millimetres, "2"},
    {"drops", "commanded drops", Unit::ratio, "2"},
}};

Unit unit_by_suffix(std::string_view key) {
    if (key.ends_with("_mm"))
        return Unit::millimetres;
    if (key.ends_with("_per_m"))
        return Unit::per_metre;
    return key.ends_with("_share") || key.ends_with("_index") ? Unit::percent : Unit::ratio;
}

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
    GroupBuilder& row(std::string_view key, const Estimated& estimate) {
        const QuantityWords words = words_of(key);
        return row(key, words.name, estimate);
    }
    GroupBuilder& row(std::string_view key, std::string name, const Estimated& estimate) {
        return row({.key = std::string(key),
                    .name = std::move(name),
                    .unit = words_of(key).unit,
                    .estimate = estimate,
                    .n_of = {}});
    }
    GroupBuilder& row(ReportedQuantity quantity) {
        quantity.n = n_;
        quantity.n_of = n_of_;
        group_.rows.push_back(std::move(quantity));
        return *this;
    }
    [[nodiscard]] QuantityGroup built() { return std::move(group_); }

private:
    QuantityGroup group_;
    std::int64_t n_ = 0;
    std::string n_of_;
};

QuantityGroup index_group(const measures::SpacingResult& spacing) {
    return GroupBuilder("spacing", "Spacing indices (ISO 7256-1)", "3")
        .over(spacing.counts.intervals(), "theoretical intervals N'")
        .row("quality_of_feed_index", spacing.iso.quality_of_feed)
        .row("multiples_index", spacing.iso.multiples)
        .row("miss_index", spacing.iso.misses)
        .over(spacing.counts.classes[1], "single spacings")
        .row("precision", spacing.precision)
        .built();
}

QuantityGroup spacing_group(const measures::SpacingResult& spacing) {
    return GroupBuilder("per_spacing", "The spacings as measured", "3")
        .over(spacing.counts.spacings(), "spacings N")
        .row("mean_mm", spacing.mean_mm)
        .row("sd_mm", "standard deviation of spacings", spacing.sd_mm)
        .row("quality_of_feed", spacing.per_spacing.quality_of_feed)
        .row("multiples", spacing.per_spacing.multiples)
        .row("misses", spacing.per_spacing.misses)
        .row("cp3_reference", spacing.cp3_about_reference.share)
        .row("cp3_fullest_band", spacing.cp3_fullest_band.share)
        .built();
}

std::int64_t drops_with_seed(const audit::ChannelReport& channel) {
    return channel.table.drops - channel.table.miss - channel.table.empty;
}

QuantityGroup placement_group(const audit::ChannelReport& channel) {
    const measures::PlacementResult& placement = *channel.placement;
    return GroupBuilder("placement", "Placement", "2")
        .over(channel.table.entered, "landings in entries")
        .row("offset_mm", placement.offset_mm)
        .over(drops_with_seed(channel), "drops with seed")
        .row("bias_mm", placement.bias_mm)
        .row("sd_mm", "standard deviation of placement", placement.sd_mm)
        .row("p95_abs_mm", placement.p95_abs_mm)
        .row("within_allowance", placement.within_allowance)
        .built();
}

QuantityGroup portion_group(const audit::ChannelReport& channel) {
    const measures::PortionResult& portion = *channel.portion;
    return GroupBuilder("portion", "Portions", "2")
        .over(channel.table.drops, "drops")
        .row("mean_count", portion.mean_count)
        .row("exact_share", portion.exact_share)
        .over(drops_with_seed(channel), "drops with seed")
        .row("spread_mm", portion.spread_mm)
        .built();
}

QuantityGroup line_group(const measures::LineResult& line) {
    return GroupBuilder("line", "Evenness along the line (ISO 7256-2)", "4")
        .over(line.segments, "whole segments")
        .row("mean_per_m", line.mean_per_m)
        .row("rate_error", line.rate_error)
        .row("cv", line.cv)
        .row("dispersion_index", line.dispersion_index)
        .built();
}

// Each row has its own n: the drops up to the decision, or of the run where that went on.
QuantityGroup sequential_group(const audit::ChannelReport& channel) {
    GroupBuilder group("sequential", "Shares per commanded drop of a run that stopped itself", "5");
    const bool portion = channel.mode == ledger::Mode::portion;
    const auto add = [&](const char* key, const char* name,
                         const std::optional<audit::SequentialResult>& test) {
        if (test)
            group.over(test->ended_run ? test->path.decided_after() : test->path.entries(), "drops")
                .row(key, name, test->share);
    };
    add("miss_share", portion ? "empty portions" : "misses per drop", channel.miss_test);
    add("multiple_share", portion ? "portions over their count" : "multiples per drop",
        channel.multiples_test);
    return group.built();
}

// Shares stand per commanded drop here, not per interval as the spacing indices do.
struct CorrectedName {
    std::string key;
    std::string name;
};
CorrectedName corrected_name(const audit::ChannelReport& channel, const std::string& name) {
    if (channel.mode == ledger::Mode::single && name == "miss_index")
        return {"miss", "misses per drop"};
    if (channel.mode == ledger::Mode::single)
        return name == "multiples_index" ? CorrectedName{"multiples", "multiples per drop"}
                                         : CorrectedName{"singles", "singles per drop"};
    if (name == "exact_share")
        return {name, "exact portions"};
    if (name == "over_share")
        return {name, "portions over"};
    if (name == "mean_count")
        return {name, "seeds per portion"};
    return {name, name == "mean_per_m" ? "seeds per metre" : words_of(name).name};
}

QuantityGroup sensor_group(const audit::ChannelReport& channel) {
    GroupBuilder group("sensor",
                       "As the sensor saw it, and with the seeds put back that it overlooked", "5");
    if (channel.line)
        group.over(channel.line->segments, "whole segments");
    else
        group.over(channel.table.drops, "drops");
    group.row("efficiency", channel.sensor.efficiency);
    for (const audit::SensorCorrection& one : channel.sensor.corrections) {
        const auto [key, name] = corrected_name(channel, one.name);
        const Unit unit = words_of(one.name).unit;
        group.row({.key = "seen_" + key,
                   .name = name + ", as seen",
                   .unit = unit,
                   .estimate = one.observed,
                   .n_of = {}});
        group.row({.key = "corrected_" + key,
                   .name = name + ", corrected",
                   .unit = unit,
                   .estimate = one.corrected.estimate,
                   .n_of = {}});
    }
    return group.built();
}

} // namespace

QuantityWords words_of(std::string_view key) {
    const auto* const found = std::find_if(known_quantities.begin(), known_quantities.end(),
                                           [&](const Known& known) { return known.key == key; });
    if (found != known_quantities.end())
        return {std::string(found->name), found->unit, std::string(found->section)};
    std::string name(key);
    std::replace(name.begin(), name.end(), '_', ' ');
    return {name, unit_by_suffix(key), "5"};
}

std::vector<QuantityGroup> quantity_groups(const audit::ChannelReport& channel) {
    std::vector<QuantityGroup> groups;
    if (channel.spacing) {
        groups.push_back(index_group(*channel.spacing));
        groups.push_back(spacing_group(*channel.spacing));
    }
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
