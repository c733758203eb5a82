#include "analysis/field/decision.hpp"

#include <algorithm>

namespace dropledger::field {

namespace {

double expected_missing(const Gap& gap) {
    return gap.missing.best.value_or(gap.missing.low);
}

void name_missing_costs(const Costs& costs, Reseed& reseed) {
    const auto name = [&](const std::optional<double>& cost, const char* words) {
        if (!cost)
            reseed.costs_missing.emplace_back(words);
    };
    name(costs.per_lost_plant, "what a lost plant costs");
    name(costs.per_reseeded_metre, "what re-seeding a metre costs");
    name(costs.per_gap, "what reaching a gap costs");
    name(costs.per_seed, "what a seed costs");
}

// Seeds commanded per metre of row, over all passes.
double seeds_per_metre(const FieldAudit& audit) {
    double seeds = 0.0;
    double metres = 0.0;
    for (const LineReport& line : audit.lines) {
        seeds += line.seeds_commanded;
        metres += line.length_m;
    }
    return metres > 0.0 ? seeds / metres : 0.0;
}

void add_money(const FieldAudit& audit, Reseed& reseed) {
    const Costs& costs = *audit.options.costs;
    name_missing_costs(costs, reseed);
    if (costs.per_lost_plant) {
        double expected = 0.0;
        for (const Gap& gap : audit.gaps)
            if (judged(gap.missing) == Judgement::missing)
                expected += expected_missing(gap) * static_cast<double>(gap.seeds);
        reseed.cost_of_nothing = *costs.per_lost_plant * expected * audit.options.germination;
        reseed.cost_of_nothing_low = *costs.per_lost_plant * audit.plants_lost_low();
        reseed.cost_of_nothing_high = *costs.per_lost_plant * audit.plants_lost_high();
    }
    if (!reseed.costs_missing.empty())
        return;
    reseed.cost_of_reseeding = *costs.per_gap * static_cast<double>(reseed.gaps) +
                               *costs.per_reseeded_metre * reseed.length_m +
                               *costs.per_seed * static_cast<double>(reseed.seeds);
    reseed.net_gain = *costs.per_lost_plant * reseed.plants_back - *reseed.cost_of_reseeding;
    const double gain_per_metre =
        seeds_per_metre(audit) *
            (*costs.per_lost_plant * costs.late_value * audit.options.germination -
             *costs.per_seed) -
        *costs.per_reseeded_metre;
    if (gain_per_metre > 0.0)
        reseed.break_even_m = *costs.per_gap / gain_per_metre;
}

} // namespace

std::optional<double> FieldAudit::net_gain(const Gap& gap) const {
    if (!options.costs || !options.costs->per_lost_plant || !options.costs->per_reseeded_metre ||
        !options.costs->per_gap || !options.costs->per_seed)
        return std::nullopt;
    const Costs& costs = *options.costs;
    const auto seeds = static_cast<double>(gap.seeds);
    return *costs.per_lost_plant * costs.late_value * options.germination * expected_missing(gap) *
               seeds -
           *costs.per_gap - *costs.per_reseeded_metre * gap.length_m - *costs.per_seed * seeds;
}

bool FieldAudit::worth_reseeding(const Gap& gap) const {
    return gap.length_m >= options.reseed_min_m && judged(gap.missing) == Judgement::missing &&
           net_gain(gap).value_or(1.0) > 0.0;
}

bool FieldAudit::undecided(const Gap& gap) const {
    return gap.length_m >= options.reseed_min_m && judged(gap.missing) == Judgement::unknown;
}

std::int64_t FieldAudit::alerts_judged(Judgement judgement) const {
    return std::count_if(alerts.begin(), alerts.end(),
                         [&](const Alert& alert) { return judged(alert.missing) == judgement; });
}

void add_decision(FieldAudit& audit) {
    Reseed& reseed = audit.reseed;
    reseed.min_length_m = audit.options.reseed_min_m;
    for (const Gap& gap : audit.gaps) {
        if (audit.undecided(gap)) {
            ++reseed.undecided_gaps;
            reseed.undecided_length_m += gap.length_m;
            reseed.undecided_seeds += gap.seeds;
        }
        if (!audit.worth_reseeding(gap))
            continue;
        ++reseed.gaps;
        reseed.seeds += gap.seeds;
        reseed.length_m += gap.length_m;
        reseed.plants_lost +=
            expected_missing(gap) * static_cast<double>(gap.seeds) * audit.options.germination;
    }
    const Pace& pace = audit.options.pace;
    reseed.plants_back =
        reseed.plants_lost * (audit.options.costs ? audit.options.costs->late_value : 1.0);
    reseed.minutes = (reseed.length_m / pace.reseed_mps +
                      static_cast<double>(reseed.gaps) * pace.seconds_per_gap +
                      (reseed.gaps > 0 ? audit.walk.way_m / pace.walk_mps : 0.0)) /
                     60.0;
    if (audit.options.costs)
        add_money(audit, reseed);
}

} // namespace dropledger::field
