#include "analysis/base/dates.hpp"
#include "analysis/base/text.hpp"
#include "analysis/batch/batch.hpp"
#include "analysis/batch/choice.hpp"
#include "bench/evidence/checks.hpp"
#include "bench/evidence/known_profile.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

namespace dropledger::evidence {

using batch::Certificate;

namespace {

bool near(double a, double b) {
    return std::abs(a - b) <= 1e-6 * std::max(1.0, std::max(std::abs(a), std::abs(b)));
}

bool same(const std::optional<statistics::Estimate>& a,
          const std::optional<statistics::Estimate>& b) {
    if (a.has_value() != b.has_value())
        return false;
    if (!a)
        return true;
    if (!near(a->value, b->value) || a->interval.has_value() != b->interval.has_value())
        return false;
    return !a->interval ||
           (near(a->interval->low, b->interval->low) && near(a->interval->high, b->interval->high));
}

bool same(const std::optional<double>& a, const std::optional<double>& b) {
    return a.has_value() == b.has_value() && (!a || near(*a, *b));
}

Result<batch::BatchPlan> plan_again(const Certificate& certificate) {
    constexpr std::int64_t most_units = 10'000'000;
    const batch::CertifiedPlan& plan = certificate.plan;
    if (certificate.batch.size < 1 || certificate.batch.size > most_units)
        return input_error(
            "plan", fmt::format("a batch of {} units cannot be", certificate.batch.size), "");
    if (plan.kind != batch::PlanKind::table)
        return batch::own_plan(certificate.batch.size, plan.n, plan.accept);
    if (!plan.severity || !plan.aql_percent)
        return input_error("plan", "a plan from the tables must state its AQL and its severity",
                           "");
    return batch::table_plan({.lot = certificate.batch.size,
                              .level = plan.level,
                              .aql = *plan.aql_percent,
                              .severity = *plan.severity},
                             plan.severity_reason);
}

bool same_risks(const std::vector<batch::RiskPoint>& a, const std::vector<batch::RiskPoint>& b) {
    return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                      [](const auto& one, const auto& other) {
                          return near(one.share, other.share) &&
                                 near(one.accept_probability, other.accept_probability);
                      });
}

void check_choice(const Certificate& certificate, const VerifyOptions& options,
                  Failures& failures) {
    const batch::CertifiedBatch& stated = certificate.batch;
    const std::set<std::string> distinct(stated.chosen.begin(), stated.chosen.end());
    if (distinct.size() != stated.chosen.size() ||
        static_cast<std::int64_t>(stated.chosen.size()) != certificate.plan.n)
        failures.push_back({"choice_differs", "batch.chosen",
                            fmt::format("{} different units are listed, the plan asks for {}",
                                        distinct.size(), certificate.plan.n)});
    if (options.serials.empty())
        return;
    if (batch::serials_hash(options.serials) != stated.serials_sha256)
        failures.push_back({"serials_changed", "batch.serials_sha256",
                            "the list of serials is not the certified one"});
    else if (const auto seed = parse_uint(stated.seed); !seed)
        failures.push_back({"choice_differs", "batch.seed",
                            fmt::format("'{}' is no seed: nothing was chosen by it", stated.seed)});
    else if (batch::chosen_units(options.serials, certificate.plan.n, *seed) != stated.chosen)
        failures.push_back(
            {"choice_differs", "batch.chosen",
             fmt::format("the seed {} chooses other units from the serials", stated.seed)});
}

} // namespace

void check_form(std::string_view text, const Certificate& certificate, const VerifyOptions& options,
                Failures& failures) {
    if (!batch::is_canonical(text))
        failures.push_back(
            {"not_canonical", "certificate",
             "its bytes are not in the canonical form: it was changed after it was issued"});
    if (!batch::signature_holds(text))
        failures.push_back(
            {"bad_signature", "certificate",
             "the signature does not fit what is written: it was changed, or is forged"});
    if (options.public_key && certificate.public_key != *options.public_key)
        failures.push_back({"other_key", "certificate",
                            fmt::format("it is signed by the key {}, not by {}",
                                        certificate.public_key, *options.public_key)});
    if (!is_date(certificate.valid_until))
        failures.push_back({"expired", "certificate", "it does not say until when it is valid"});
    else if (options.today > certificate.valid_until)
        failures.push_back({"expired", "certificate",
                            fmt::format("it was valid until {}, today is {}",
                                        certificate.valid_until, options.today)});
}

void check_plan(const Certificate& certificate, const VerifyOptions& options, Failures& failures) {
    check_choice(certificate, options, failures);
    const batch::CertifiedPlan& stated = certificate.plan;
    const auto plan = plan_again(certificate);
    if (!plan) {
        failures.push_back({"plan_differs", "plan", plan.error().what});
        return;
    }
    const batch::AttributePlan& numbers = plan->numbers;
    if (numbers.n != stated.n || numbers.accept != stated.accept || numbers.reject != stated.reject)
        failures.push_back({"plan_differs", "plan",
                            fmt::format("the plan for {} units is {} with {}/{}, not {} with {}/{}",
                                        certificate.batch.size, numbers.n, numbers.accept,
                                        numbers.reject, stated.n, stated.accept, stated.reject)});
    else if (!same_risks(batch::risks_of(numbers, certificate.batch.size), stated.risks))
        failures.push_back(
            {"plan_differs", "plan.risks", "the stated risks are not those of the plan"});
}

void check_decision(const Certificate& certificate, const std::optional<verdict::Profile>& profile,
                    const Means& means, Failures& failures) {
    const batch::CertifiedDecision& stated = certificate.decision;
    const batch::AttributePlan plan{.letter = '-',
                                    .n = certificate.plan.n,
                                    .accept = certificate.plan.accept,
                                    .reject = certificate.plan.reject,
                                    .whole_lot = false};
    const batch::Standing found = batch::standing(certificate.batch.chosen, certificate.runs);
    const auto count = static_cast<std::int64_t>(found.nonconforming.size());
    const auto outcome = count > plan.n ? std::nullopt : batch::decision_of(plan, found);
    if (!outcome || *outcome != stated.outcome || count != stated.nonconforming ||
        found.nonconforming != stated.nonconforming_units ||
        static_cast<std::int64_t>(found.conforming.size()) + count != stated.tested)
        failures.push_back(
            {"decision_differs", "decision",
             fmt::format(
                 "the listed runs give {} nonconforming units and {}, the certificate says {} "
                 "and {}",
                 count, outcome ? batch::word_of(*outcome) : "no decision", stated.nonconforming,
                 batch::word_of(stated.outcome))});
    if (!profile)
        return;
    const batch::CertifiedStatistics again =
        means.statistics(certificate.runs, miss_limit(*profile), profile->confidence);
    const batch::CertifiedStatistics& was = certificate.statistics;
    if (again.units != was.units || again.drops != was.drops || again.misses != was.misses ||
        !same(again.pooled_miss, was.pooled_miss) ||
        !same(again.nonconforming_share, was.nonconforming_share) ||
        !same(again.share_outside, was.share_outside) || !same(again.limit, was.limit) ||
        !same(again.tarone_p, was.tarone_p))
        failures.push_back(
            {"statistics_differ", "statistics", "they do not follow from the listed runs"});
}

} // namespace dropledger::evidence
