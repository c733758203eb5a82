#include "analysis/audit/compared_unit.hpp"

#include "analysis/audit/before_after.hpp"
#include "analysis/statistics/basics/distributions.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

namespace dropledger::audit {

namespace {

using measures::Aspect;
using measures::Reported;
using statistics::Estimate;
using statistics::Interval;
using Estimated = std::optional<Estimate>;

// How far the truth may lie below and above a value.
struct Reach {
    double below = 0.0;
    double above = 0.0;
};

double two_sided(Confidence level) {
    return statistics::normal_quantile(1.0 - level.each_tail());
}

std::optional<Reach> reach_of(const Estimate& estimate, Confidence level) {
    if (!estimate.interval)
        return std::nullopt;
    const double stretch = two_sided(level) / two_sided(estimate.confidence);
    return Reach{stretch * std::max(0.0, estimate.value - estimate.interval->low),
                 stretch * std::max(0.0, estimate.interval->high - estimate.value)};
}

Interval interval_between(const Estimate& before, const Reach& was, const Estimate& after,
                          const Reach& is) {
    const double apart = after.value - before.value;
    return {apart - std::hypot(is.below, was.above), apart + std::hypot(is.above, was.below)};
}

struct Told {
    Reported what;
    KnownQuantity known;
};

class Quantities {
public:
    explicit Quantities(const ChannelReport& channel) : channel_(channel) {
        if (const SingleDrops* const single = channel.single()) {
            share(Quantity::miss_share, single->shares.miss, single->drops.miss_test);
            share(Quantity::multiple_share, single->shares.multiple, single->drops.multiples_test);
        }
        if (const Portions* const portions = channel.portions()) {
            share(Quantity::empty_share, portions->shares.empty, portions->drops.miss_test);
            share(Quantity::over_share, portions->shares.over, portions->drops.multiples_test);
        }
        if (const measures::PlacementResult* const placement = channel.placement()) {
            const auto& law = placement->bias_law_um;
            all.push_back({{Quantity::bias_mm}, {placement->bias_mm, law ? &*law : nullptr}});
            all.push_back({{Quantity::sd_mm}, {placement->sd_mm}});
        }
        if (const measures::SpacingResult* const spacing = channel.spacing())
            all.push_back({{Quantity::precision}, {spacing->precision}});
        if (const measures::LineResult* const line = channel.line()) {
            share(Quantity::mean_per_m, line->mean_per_m, {});
            share(Quantity::cv, line->cv, {});
        }
    }
    std::vector<Told> all;

private:
    // With the seeds that the gate overlooked, where the audit puts them back.
    [[nodiscard]] KnownQuantity put_back(Quantity quantity) const {
        const SensorCorrection* const one = channel_.sensor.correction(quantity);
        return {one != nullptr ? one->corrected.estimate : Estimated{}};
    }
    void share(Quantity quantity, const Estimated& seen,
               const std::optional<SequentialResult>& test) {
        if (channel_.sensor.efficiency)
            all.push_back({{corrected_as(quantity), Aspect::corrected}, put_back(quantity)});
        else
            all.push_back({{quantity}, {test ? test->share : seen}});
    }
    const ChannelReport& channel_;
};

bool is_about_places(Contradiction kind) {
    return kind == Contradiction::all_units_off || kind == Contradiction::gate_without_place;
}

const ledger::Gate* judge_of(const UnitInRun& unit) {
    const auto found = unit.run.setup.channels.find(unit.channel.channel);
    if (found == unit.run.setup.channels.end())
        return nullptr;
    const auto& gates = found->second.gates;
    const auto one = std::find_if(gates.begin(), gates.end(), [&](const ledger::Gate& each) {
        return each.number == unit.channel.gate;
    });
    return one == gates.end() ? nullptr : &*one;
}

const Contradicted* contradicted(const UnitInRun& unit, bool about_places) {
    for (const Contradicted& one : unit.run.contradictions)
        if (is_about_places(one.kind) == about_places &&
            (!one.channel || *one.channel == unit.channel.channel))
            return &one;
    return nullptr;
}

// Gate, fall and seed alike: what is not known of them moves the places of both runs alike.
bool shares_the_fall(const UnitInRun& before, const UnitInRun& after) {
    for (const char* const key : {"bench", "crop", "seed_lot"})
        if (stated(before.run, key) != stated(after.run, key))
            return false;
    return before.channel.channel == after.channel.channel && !before.run.setup.captured &&
           !after.run.setup.captured && before.run.calibration == after.run.calibration;
}

std::string why_no_places(const UnitInRun& before, const UnitInRun& after) {
    for (const UnitInRun* const side : {&before, &after})
        if (const Contradicted* const one = contradicted(*side, true))
            return fmt::format("places not compared: {}, {}", side->run.file, one->what);
    if (before.run.direction != after.run.direction)
        return "places not compared: the runs count travel in opposite directions";
    const ledger::Gate* const was = judge_of(before);
    const ledger::Gate* const is = judge_of(after);
    if (was != nullptr && is != nullptr && (was->fall_us != is->fall_us || was->place != is->place))
        return "places not compared: the gate's place or fall was set otherwise";
    return {};
}

std::string why_not(const UnitInRun& before, const UnitInRun& after) {
    for (const UnitInRun* const side : {&before, &after})
        if (const Contradicted* const one = contradicted(*side, false))
            return fmt::format("not compared: {}, {}", side->run.file, one->what);
    if (before.channel.gate != after.channel.gate)
        return fmt::format("not compared: gate {} judged before, gate {} after",
                           before.channel.gate, after.channel.gate);
    const bool was = before.channel.sensor.efficiency.has_value();
    if (was != after.channel.sensor.efficiency.has_value())
        return fmt::format("not compared: what its gate overlooks is put back in the run {} only; "
                           "take one calibration for both",
                           was ? "before" : "after");
    return {};
}

bool is_place(const Reported& what) {
    return is_placement(what.quantity);
}

std::string missing(const char* when, const KnownQuantity& known) {
    if (!known.estimate)
        return fmt::format("not defined {}", when);
    return fmt::format("{}: {}", when,
                       known.estimate->no_interval ? words(*known.estimate->no_interval)
                                                   : std::string_view("no interval"));
}

QuantityPair paired(const Told& was, const Told& is, const UnitInRun& before,
                    const UnitInRun& after) {
    QuantityPair pair{
        .shown = {.what = was.what,
                  .before = was.known.estimate,
                  .after = is.known.estimate,
                  .difference = {},
                  .why_not = is_place(was.what) ? why_no_places(before, after) : std::string{}},
        .before = was.known,
        .after = is.known};
    pair.by_law =
        was.known.law_um != nullptr && is.known.law_um != nullptr && shares_the_fall(before, after);
    for (const auto& [when, known] : {std::pair{"before", &was.known}, {"after", &is.known}})
        if (pair.shown.why_not.empty() && !(known->estimate && known->estimate->interval))
            pair.shown.why_not = missing(when, *known);
    return pair;
}

Reach reach_by_law(const statistics::MeanLaw& law_um, Confidence level) {
    const double half_mm = law_um.half_width(level) / 1000.0;
    return {half_mm, half_mm};
}

std::optional<Interval> difference_in(const QuantityPair& pair, Confidence level) {
    if (!pair.shown.why_not.empty())
        return std::nullopt;
    const Estimate& before = *pair.before.estimate;
    const Estimate& after = *pair.after.estimate;
    if (pair.by_law)
        return interval_between(before, reach_by_law(*pair.before.law_um, level), after,
                                reach_by_law(*pair.after.law_um, level));
    return difference_of(before, after, level);
}

std::vector<ChangedSetting> changed_settings(const UnitInRun& before, const UnitInRun& after) {
    static const droplog::Settings none;
    const auto settings = [](const UnitInRun& side) -> const droplog::Settings& {
        const auto found = side.run.header.channels.find(side.channel.channel);
        return found == side.run.header.channels.end() ? none : found->second;
    };
    const droplog::Settings& was = settings(before);
    const droplog::Settings& is = settings(after);
    std::set<std::string> keys;
    for (const droplog::Settings* const all : {&was, &is})
        for (const auto& [key, value] : *all)
            keys.insert(key);
    std::vector<ChangedSetting> changed;
    const auto value_in = [](const droplog::Settings& all, const std::string& key) {
        const auto found = all.find(key);
        return found == all.end() ? std::string{} : found->second;
    };
    for (const std::string& key : keys)
        if (const auto old = value_in(was, key), now = value_in(is, key); old != now)
            changed.push_back({key, old, now});
    return changed;
}

} // namespace

std::string stated(const AuditReport& run, std::string_view key) {
    const std::string* const text = run.header.find(key);
    return text == nullptr ? std::string{} : *text;
}

std::optional<Interval> difference_of(const Estimate& before, const Estimate& after,
                                      Confidence level) {
    const auto was = reach_of(before, level);
    const auto is = reach_of(after, level);
    if (!was || !is)
        return std::nullopt;
    return interval_between(before, *was, after, *is);
}

UnitPair::UnitPair(UnitInRun before, UnitInRun after)
    : before_(before), after_(after), why_not_(why_not(before, after)) {
    if (!why_not_.empty())
        return;
    const std::vector<Told> was = Quantities(before.channel).all;
    const std::vector<Told> is = Quantities(after.channel).all;
    for (const Told& old : was)
        for (const Told& now : is)
            if (old.what.quantity == now.what.quantity && old.what.aspect == now.what.aspect)
                pairs_.push_back(paired(old, now, before, after));
}

std::size_t UnitPair::comparable() const {
    return static_cast<std::size_t>(
        std::count_if(pairs_.begin(), pairs_.end(),
                      [](const QuantityPair& pair) { return pair.shown.why_not.empty(); }));
}

ComparedUnit UnitPair::compared(Confidence each) const {
    ComparedUnit unit{.unit = after_.channel.unit,
                      .row = after_.channel.row,
                      .before = before_.channel.judgement.outcome,
                      .after = after_.channel.judgement.outcome,
                      .direction = after_.run.direction,
                      .lead_before_us = before_.run.setup.channel(before_.channel.channel).lead_us,
                      .lead_after_us = after_.run.setup.channel(after_.channel.channel).lead_us,
                      .settings = changed_settings(before_, after_),
                      .quantities = {},
                      .why_not = why_not_};
    for (const QuantityPair& pair : pairs_) {
        unit.quantities.push_back(pair.shown);
        unit.quantities.back().difference = difference_in(pair, each);
    }
    return unit;
}

} // namespace dropledger::audit
