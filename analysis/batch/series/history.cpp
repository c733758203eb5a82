#include "analysis/batch/series/history.hpp"

#include "analysis/sampling/switching.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <set>
#include <string>

namespace dropledger::batch {

Result<SeverityChoice> severity_after(std::span<const Batch> earlier, bool reduced_permitted) {
    Switching rules(reduced_permitted);
    std::vector<std::string> left_out;
    int inspected = 0;
    int refused = 0;
    std::set<std::string> openings;
    for (const Batch& batch : earlier) {
        if (!openings.insert(batch.journal.opening()).second)
            return usage_error("history", fmt::format("batch {} is named twice", batch.id),
                               "name each earlier batch once, in their order");
        if (!batch.decision || batch.plan.kind != PlanKind::table) {
            left_out.push_back(batch.id);
            continue;
        }
        const std::int64_t found = batch.decision->nonconforming;
        const auto tighter = passes_one_step_tighter(batch.plan.request, found);
        if (!tighter)
            return tighter.error();
        rules.add({.outcome = batch.decision->outcome,
                   .accept = batch.plan.numbers.accept,
                   .passes_one_step_tighter = *tighter,
                   .production_steady = true});
        ++inspected;
        refused += batch.decision->outcome == LotOutcome::not_accepted ? 1 : 0;
    }
    std::string reason = fmt::format("{} after {} earlier batches, {} of them not accepted, by the "
                                     "switching rules",
                                     word_of(rules.next()), inspected, refused);
    if (!left_out.empty())
        reason += fmt::format(" (left out, not decided or not by the tables: {})",
                              fmt::join(left_out, ", "));
    return SeverityChoice{rules.next(), rules.stopped(), reason};
}

} // namespace dropledger::batch
