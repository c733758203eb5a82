#include "analysis/sampling/switching.hpp"

#include "analysis/sampling/diagonal_rule.hpp"

#include <algorithm>
#include <cmath>

namespace dropledger::batch {

namespace {

constexpr int score_for_reduced = 30;
constexpr std::size_t window = 5;

bool accepted(const InspectedLot& lot) {
    return lot.outcome != LotOutcome::not_accepted;
}

} // namespace

void Switching::add(const InspectedLot& lot) {
    if (stopped_)
        return;
    switch (severity_) {
    case Severity::normal:
        return add_normal(lot);
    case Severity::tightened:
        return add_tightened(lot);
    case Severity::reduced:
        return add_reduced(lot);
    }
}

void Switching::enter(Severity severity) {
    severity_ = severity;
    score_ = 0;
    accepted_in_a_row_ = 0;
    not_accepted_on_tightened_ = 0;
    latest_accepted_.clear();
}

void Switching::keep_score(const InspectedLot& lot) {
    const bool earned = accepted(lot) && (lot.accept < 2 || lot.passes_one_step_tighter);
    score_ = earned ? score_ + (lot.accept < 2 ? 2 : 3) : 0;
}

void Switching::add_normal(const InspectedLot& lot) {
    latest_accepted_.push_back(accepted(lot));
    if (latest_accepted_.size() > window)
        latest_accepted_.pop_front();
    keep_score(lot);
    if (std::count(latest_accepted_.begin(), latest_accepted_.end(), false) >= 2)
        enter(Severity::tightened);
    else if (score_ >= score_for_reduced && lot.production_steady && reduced_permitted_)
        enter(Severity::reduced);
}

void Switching::add_tightened(const InspectedLot& lot) {
    if (accepted(lot)) {
        if (++accepted_in_a_row_ == 5)
            enter(Severity::normal);
        return;
    }
    accepted_in_a_row_ = 0;
    stopped_ = ++not_accepted_on_tightened_ == 5;
}

void Switching::add_reduced(const InspectedLot& lot) {
    if (lot.outcome != LotOutcome::accepted || !lot.production_steady)
        enter(Severity::normal);
}

Result<bool> passes_one_step_tighter(const LotRequest& request, std::int64_t nonconforming) {
    const auto& aqls = rule_aqls();
    const auto here = std::find_if(aqls.begin(), aqls.end(),
                                   [&](double aql) { return std::abs(aql - request.aql) < 1e-9; });
    if (here == aqls.begin())
        return false;
    if (here == aqls.end())
        return single_plan(request).error(); // says which AQLs there are
    LotRequest tighter = request;
    tighter.aql = *(here - 1);
    return single_plan(tighter).transform(
        [&](const AttributePlan& plan) { return nonconforming <= plan.accept; });
}

} // namespace dropledger::batch
