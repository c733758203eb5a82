#include "bench/commands/batch/opening/batch_plan.hpp"

#include "analysis/base/text.hpp"
#include "bench/commands/shell/usage.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::cli {

namespace {

statistics::TwoPoint points_of(const PlanOptions& options) {
    return {
        .good = *options.good, .bad = *options.bad, .alpha = options.alpha, .beta = options.beta};
}

// "20,0,2,20,2": n1, Ac1, Re1, n2, Ac2.
Result<batch::DoublePlan> samples_in(const std::string& text) {
    std::vector<std::int64_t> numbers;
    for (const std::string_view part : split(text, ','))
        numbers.push_back(parse_int(trim(part)).value_or(-1));
    if (numbers.size() != 5 || *std::min_element(numbers.begin(), numbers.end()) < 0)
        return usage("--samples", fmt::format("'{}' are not the numbers of two samples", text),
                     "write n1,Ac1,Re1,n2,Ac2: 20,0,2,20,2");
    return batch::DoublePlan{.n1 = numbers[0],
                             .accept1 = numbers[1],
                             .reject1 = numbers[2],
                             .n2 = numbers[3],
                             .accept2 = numbers[4]};
}

Result<verdict::Limit> limit_to_measure(const PlanOptions& options,
                                        const verdict::Profile& profile) {
    const auto quantity = measures::quantity_of(*options.measure);
    for (const verdict::Limit& limit : profile.limits)
        if (quantity && limit.quantity == *quantity)
            return limit;
    return usage("--measure",
                 fmt::format("the profile {} has no limit of '{}'", profile.name, *options.measure),
                 "name one of its limits by its key, miss_index");
}

} // namespace

void add_plan_options(Command& command, PlanOptions& options) {
    command.option("--lot", options.lot, "number of units, to be held against the serials")
        .option("--aql", options.aql,
                "acceptance quality limit in percent, 0.010 to 10: plan of the tables")
        .option("--level", options.level, "inspection level: I, II, III, S-1, S-2, S-3, S-4")
        .option("--n", options.n, "units to test, of a plan of your own")
        .option("--accept", options.accept,
                "with --n: largest number of nonconforming units that accepts")
        .option("--good", options.good, "share of nonconforming units that should be accepted")
        .option("--bad", options.bad, "share that must be found out")
        .option("--alpha", options.alpha, "with --good: risk of not accepting it")
        .option("--beta", options.beta, "with --bad: risk of accepting it")
        .flag("--double", options.two_samples,
              "with --good and --bad: two samples, the second only where the first is in doubt")
        .option("--samples", options.samples,
                "two samples of your own, n1,Ac1,Re1,n2,Ac2: 20,0,2,20,2")
        .option("--measure", options.measure,
                "with --good and --bad: accept by mean and spread of a quantity that the profile "
                "limits, miss_index");
}

namespace {

int plans_named(const PlanOptions& options) {
    return (options.aql ? 1 : 0) + (options.n || options.accept ? 1 : 0) +
           (options.good || options.bad ? 1 : 0) + (options.samples ? 1 : 0);
}

} // namespace

Status check_plan_options(const PlanOptions& options) {
    if (plans_named(options) != 1)
        return usage("--aql", "one plan is needed",
                     "give --aql (tables), or --n and --accept, or --good and --bad, or --samples");
    if (options.n.has_value() != options.accept.has_value() ||
        options.good.has_value() != options.bad.has_value())
        return usage(options.n || options.accept ? "--n" : "--good", "half a plan",
                     "give both of the pair");
    if ((options.two_samples || options.measure) && !options.good)
        return usage(options.measure ? "--measure" : "--double", "no levels to keep",
                     "give --good and --bad too");
    if (options.two_samples && options.measure)
        return usage("--measure", "two kinds of plan", "leave --double or --measure out");
    return Done{};
}

Result<batch::BatchPlan> plan_of(const PlanOptions& options, const PlanRequest& request) {
    if (options.n)
        return batch::own_plan(request.lot, *options.n, *options.accept);
    if (options.samples) {
        const auto samples = samples_in(*options.samples);
        return samples ? batch::two_sample_plan(request.lot, *samples, std::nullopt)
                       : Result<batch::BatchPlan>(samples.error());
    }
    if (options.measure) {
        const auto limit = limit_to_measure(options, *request.profile);
        return limit ? batch::variables_plan_of(request.lot, *limit, points_of(options))
                     : Result<batch::BatchPlan>(limit.error());
    }
    if (options.good)
        return options.two_samples ? batch::two_sample_plan(request.lot, points_of(options))
                                   : batch::two_point_plan(request.lot, points_of(options));
    return batch::table_plan({.lot = request.lot,
                              .level = options.level,
                              .aql = *options.aql,
                              .severity = request.severity},
                             request.severity_reason);
}

} // namespace dropledger::cli
