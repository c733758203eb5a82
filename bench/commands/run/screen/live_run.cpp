#include "bench/commands/run/screen/live_run.hpp"

#include "analysis/statistics/shares/proportion.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::cli {

namespace {

std::vector<ScreenUnit> units_of(const ScreenPlan& plan) {
    std::vector<ScreenUnit> units;
    constexpr int mask_bits = 32;
    for (int channel = 0; channel < mask_bits; ++channel)
        if (((plan.order.channel_mask >> static_cast<unsigned>(channel)) & 1U) != 0)
            units.push_back({.channel = channel,
                             .unit = recorder::setting_of(plan.channel_settings, channel, "unit"),
                             .row = recorder::setting_of(plan.channel_settings, channel, "row"),
                             .tally = {},
                             .seeds_per_m = std::nullopt});
    return units;
}

std::optional<double> share_limit(const ScreenPlan& plan, measures::Quantity quantity) {
    return plan.profile ? plan.profile->limit_of(quantity) : std::nullopt;
}

ScreenModel model_of(const ScreenPlan& plan) {
    using measures::Quantity;
    const bool portion = plan.order.mode == droplog::Mode::portion;
    ScreenModel model{
        .mode = plan.order.mode,
        .wanted = static_cast<std::uint64_t>(std::max<std::int64_t>(plan.order.drops, 0)),
        .miss_limit = share_limit(plan, portion ? Quantity::empty_share : Quantity::miss_index),
        .multiples_limit =
            share_limit(plan, portion ? Quantity::over_share : Quantity::multiples_index),
        .wanted_per_m = std::nullopt,
        .seconds_left = std::nullopt,
        .units = units_of(plan)};
    if (plan.order.mode == droplog::Mode::line && plan.order.spacing_um > 0)
        model.wanted_per_m = 1e6 / static_cast<double>(plan.order.spacing_um);
    return model;
}

// The rule that judges as the audit does; none where the profile states no limits for it.
std::optional<verdict::StoppingTests> tests_of(const ScreenPlan& plan) {
    if (!plan.profile || plan.order.mode == droplog::Mode::line)
        return std::nullopt;
    const auto rule = verdict::stopping_rule(*plan.profile, plan.order.drops);
    if (!rule || !rule->tests_anything())
        return std::nullopt;
    return verdict::StoppingTests{*rule, plan.order.channel_mask};
}

// As the audit has it; none before the first drop.
std::optional<statistics::Interval> interval_of(std::uint64_t hits, std::uint64_t of) {
    if (of == 0)
        return std::nullopt;
    return statistics::clopper_pearson(static_cast<std::int64_t>(hits),
                                       static_cast<std::int64_t>(of), Confidence{0.95});
}

} // namespace

LiveRun::LiveRun(recorder::Clock& clock, const ScreenPlan& plan)
    : clock_(clock), model_(model_of(plan)), tests_(tests_of(plan)),
      least_drops_(plan.profile ? plan.profile->least_drops : 0) {
}

void LiveRun::settled(const recorder::Settled& drop) {
    if (tests_)
        tests_->add(drop.channel, drop.miss, drop.over);
    auto& last = last_[drop.channel];
    last.push_back(drop.miss ? DropSeen::none : drop.over ? DropSeen::too_many : DropSeen::right);
    if (last.size() > drops_shown)
        last.pop_front();
}

// Outside on one decision, within where all there are say so.
SoFar LiveRun::so_far(int channel) const {
    if (!tests_)
        return SoFar::open;
    bool all_good = true;
    for (const verdict::StopDecision& one : tests_->decisions()) {
        if (one.channel != channel)
            continue;
        if (one.decision == statistics::Decision::reject)
            return SoFar::outside;
        all_good =
            all_good && one.decision == statistics::Decision::accept && one.drops >= least_drops_;
    }
    return all_good ? SoFar::within : SoFar::open;
}

void LiveRun::take_unit(const recorder::LiveTally& tally, const recorder::ChannelTally& counts,
                        ScreenUnit& unit) {
    unit.tally = counts;
    unit.so_far = so_far(unit.channel);
    unit.dry = counts.dry;
    unit.miss_interval = interval_of(counts.miss, counts.settled);
    unit.over_interval = interval_of(counts.over, counts.settled);
    const std::deque<DropSeen>& last = last_[unit.channel];
    unit.last.assign(last.begin(), last.end());
    if (model_.mode != droplog::Mode::line)
        return;
    const double travelled_m = static_cast<double>(tally.travelled_um()) / 1e6;
    if (travelled_m > 0.0)
        unit.seeds_per_m = static_cast<double>(counts.pulses) / travelled_m;
    const double since_m = travelled_m - static_cast<double>(counts.seed_at_um) / 1e6;
    unit.dry = static_cast<std::uint64_t>(since_m * model_.wanted_per_m.value_or(0.0));
}

void LiveRun::take(const recorder::LiveTally& tally) {
    const auto channels = tally.channels();
    for (ScreenUnit& unit : model_.units) {
        const auto found = channels.find(unit.channel);
        take_unit(tally, found == channels.end() ? recorder::ChannelTally{} : found->second, unit);
    }
    model_.seconds_left = seconds_left(clock_.steady());
}

// By the pace of this process's run so far.
std::optional<double> LiveRun::seconds_left(Microseconds now) {
    constexpr double least_s = 2.0;
    std::uint64_t done = model_.units.empty() ? 0 : model_.wanted;
    for (const ScreenUnit& unit : model_.units)
        done = std::min(done,
                        model_.mode == droplog::Mode::line ? unit.tally.pulses : unit.tally.drops);
    if (done == 0 || model_.wanted <= done)
        return std::nullopt;
    if (!began_)
        began_ = {now, done};
    const double s = static_cast<double>((now - began_->first).count()) / 1e6;
    if (s < least_s || done <= began_->second)
        return std::nullopt;
    return s * static_cast<double>(model_.wanted - done) /
           static_cast<double>(done - began_->second);
}

std::vector<std::string> LiveRun::newly_dry() {
    std::vector<std::string> warnings;
    for (const ScreenUnit& unit : model_.units) {
        if (unit.dry < dry_drops)
            dry_.erase(unit.channel);
        else if (dry_.insert(unit.channel).second)
            warnings.push_back(
                fmt::format("{}: no seed for {} drops; {}", name_of(unit), unit.dry, dry_remedy));
    }
    return warnings;
}

std::string LiveRun::unit_name(int channel) const {
    for (const ScreenUnit& unit : model_.units)
        if (unit.channel == channel)
            return name_of(unit);
    return fmt::format("channel {}", channel);
}

} // namespace dropledger::cli
