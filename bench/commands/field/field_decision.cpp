#include "bench/commands/field/field_decision.hpp"

#include "bench/commands/shell/usage.hpp"

#include <fmt/format.h>

#include <array>
#include <utility>

namespace dropledger::cli {

namespace {

using Cost = std::pair<const char*, std::optional<double>>;

std::array<Cost, 4> costs_said(const DecisionOptions& options) {
    return {Cost{"--cost-lost-plant", options.cost_lost_plant},
            Cost{"--cost-reseed-metre", options.cost_reseed_metre},
            Cost{"--cost-gap", options.cost_gap}, Cost{"--cost-seed", options.cost_seed}};
}

std::optional<field::Costs> costs_of(const DecisionOptions& options) {
    bool any = false;
    for (const auto& [name, cost] : costs_said(options))
        any |= cost.has_value();
    if (!any)
        return std::nullopt;
    return field::Costs{.per_lost_plant = options.cost_lost_plant,
                        .per_reseeded_metre = options.cost_reseed_metre,
                        .per_gap = options.cost_gap,
                        .per_seed = options.cost_seed,
                        .late_value = options.late_value};
}

Result<field::Assumption> assumption_of(const DecisionOptions& options) {
    if (!options.assume)
        return field::Assumption::none;
    if (*options.assume == "gates-alike")
        return field::Assumption::gates_alike;
    if (*options.assume == "meters-alike")
        return field::Assumption::meters_alike;
    if (*options.assume == "cables-sound")
        return field::Assumption::cables_sound;
    return usage("--assume", fmt::format("'{}' is no assumption", *options.assume),
                 "gates-alike, meters-alike or cables-sound");
}

Status check_share(const char* name, double value) {
    if (value >= 0.0 && value <= 1.0)
        return Done{};
    return usage(name, fmt::format("{} is no share", value), "give 0 to 1, say 0.9");
}

Status check(const DecisionOptions& options) {
    for (const auto& [name, share] : {std::pair{"--germination", options.germination},
                                      std::pair{"--late-value", options.late_value}})
        if (const Status good = check_share(name, share); !good)
            return good.error();
    if (!(options.reseed_min_m >= 0.0))
        return usage("--reseed-min-m", fmt::format("{} m cannot be", options.reseed_min_m),
                     "give a length, say 2");
    for (const auto& [name, cost] : costs_said(options))
        if (cost && !(*cost >= 0.0))
            return usage(name, fmt::format("{} is no cost", *cost), "give 0 or more");
    if (options.guard_mm && !(*options.guard_mm >= 0.0))
        return usage("--guard-mm", fmt::format("{} mm cannot be", *options.guard_mm),
                     "give a distance, say 40");
    for (const auto& [name, pace] : {std::pair{"--reseed-mps", options.pace.reseed_mps},
                                     std::pair{"--walk-mps", options.pace.walk_mps}})
        if (!(pace > 0.0))
            return usage(name, fmt::format("{} m/s is no pace", pace), "give a speed, say 1.2");
    if (!(options.pace.seconds_per_gap >= 0.0))
        return usage("--gap-seconds", fmt::format("{} s cannot be", options.pace.seconds_per_gap),
                     "give a time, say 20");
    return Done{};
}

} // namespace

void add_decision_options(Command& command, DecisionOptions& options) {
    command
        .option("--assume", options.assume,
                "gates-alike or meters-alike, where no efficiency is known; cables-sound: silences "
                "that come and go are the meter's")
        .option("--reseed-min-m", options.reseed_min_m,
                "gaps at least so long are worth re-seeding")
        .option("--germination", options.germination, "share of seeds that become plants")
        .option("--guard-mm", options.guard_mm,
                "distance a blind hoe spares around each commanded place")
        .option("--cost-lost-plant", options.cost_lost_plant,
                "what a lost plant costs, in your currency")
        .option("--cost-reseed-metre", options.cost_reseed_metre, "what re-seeding a metre costs")
        .option("--cost-gap", options.cost_gap, "what reaching one gap costs")
        .option("--cost-seed", options.cost_seed, "what a seed costs")
        .option("--late-value", options.late_value,
                "value of a plant re-seeded late, as a share of one in time")
        .option("--reseed-mps", options.pace.reseed_mps, "how fast a gap is re-seeded")
        .option("--walk-mps", options.pace.walk_mps, "how fast you get from gap to gap")
        .option("--gap-seconds", options.pace.seconds_per_gap, "time at each gap besides");
}

Status take_decision(const DecisionOptions& options, field::FieldOptions& audit) {
    if (const Status good = check(options); !good)
        return good.error();
    const auto assumption = assumption_of(options);
    if (!assumption)
        return assumption.error();
    audit.assumption = *assumption;
    audit.reseed_min_m = options.reseed_min_m;
    audit.germination = options.germination;
    audit.guard_mm = options.guard_mm;
    audit.costs = costs_of(options);
    audit.pace = options.pace;
    return Done{};
}

} // namespace dropledger::cli
