#include "bench/evidence/certificate/drawn_up.hpp"

#include "analysis/base/dates.hpp"
#include "analysis/batch/chain/order.hpp"
#include "analysis/batch/chain/serials.hpp"
#include "analysis/batch/runs/statistics.hpp"
#include "bench/evidence/certificate/known_profile.hpp"
#include "bench/evidence/certificate/remarks.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

namespace dropledger::evidence {

using batch::Batch;
using batch::Certificate;

namespace {

batch::CertifiedBatch certified(const Batch& batch, const std::string& file) {
    return {.id = batch.id,
            .opened = batch.opened,
            .rehearsal = batch.rehearsal,
            .size = batch.size(),
            .serials_sha256 = batch::serials_hash(batch.serials),
            .serial_ranges = batch::ranges_of(batch.serials),
            .choice = batch.choice,
            .chosen_at = batch.chosen_at,
            .chosen = batch.chosen,
            .history = batch.history,
            .resubmitted = batch.resubmitted,
            .pooled_runs = batch.pooled_runs,
            .journal = {.file = file,
                        .opening = batch.journal.opening(),
                        .head = batch.journal.head(),
                        .entries = static_cast<std::int64_t>(batch.journal.entries().size())}};
}

batch::CertifiedProfile certified(const batch::BatchProfile& text,
                                  const verdict::Profile& profile) {
    return {.name = text.name,
            .sha256 = text.sha256,
            .text = text.text,
            .mode = profile.mode,
            .confidence = profile.confidence.level(),
            .least_drops = profile.least_drops,
            .limits = profile.limits};
}

batch::CertifiedPlan certified(const batch::BatchPlan& plan) {
    batch::CertifiedPlan stated;
    stated.kind = plan.kind;
    stated.n = plan.numbers.n;
    stated.accept = plan.numbers.accept;
    stated.reject = plan.numbers.reject;
    stated.severity_reason = plan.severity_reason;
    stated.risks = batch::risks_of(plan);
    stated.named = batch::named_risks_of(plan);
    stated.samples = plan.samples;
    if (plan.measured) {
        stated.measured = plan.measured->limit;
        stated.k = plan.measured->plan.k;
    }
    if (plan.kind == batch::PlanKind::table) {
        stated.level = plan.request.level;
        stated.aql_percent = plan.request.aql;
        stated.severity = plan.request.severity;
        stated.letter = std::string(1, plan.numbers.letter);
        stated.computed = plan.numbers.computed;
    }
    if (plan.points)
        stated.severity_reason =
            fmt::format("rejects at {} nonconforming with a risk of at most "
                        "{} and accepts at {} with one of at most {}",
                        plan.points->good, plan.points->alpha, plan.points->bad, plan.points->beta);
    return stated;
}

batch::CertifiedDecision certified(const Batch& batch, const batch::BatchDecision& decision) {
    const batch::Standing found = batch::standing(batch.tested());
    batch::CertifiedDecision stated;
    stated.outcome = decision.outcome;
    stated.tested = static_cast<std::int64_t>(found.conforming.size() + found.nonconforming.size());
    stated.nonconforming = decision.nonconforming;
    stated.nonconforming_units = found.nonconforming;
    stated.taken_out = batch::taken_out(batch.runs, batch.plan.numbers.n);
    if (batch.pooled_runs)
        for (const std::string& unit : batch.chosen)
            if (auto together = batch::pooled(unit, batch.runs, *batch.pooled_runs))
                stated.pooled.push_back(*std::move(together));
    if (batch.plan.measured)
        stated.measured = batch::measured_sample(batch.plan, batch.tested());
    stated.decided = decision.decided;
    return stated;
}

std::vector<batch::CertifiedConditions> conditions_of(const std::vector<batch::TestedRun>& runs) {
    std::vector<batch::CertifiedConditions> all;
    for (const batch::TestedRun& run : runs) {
        if (!run.counted())
            continue;
        const auto known = std::find_if(all.begin(), all.end(), [&](const auto& one) {
            return one.conditions == run.conditions;
        });
        if (known == all.end())
            all.push_back({run.conditions, 1});
        else
            ++known->runs;
    }
    return all;
}

std::vector<batch::CertifiedKey> keys_of(const Batch& batch) {
    std::vector<batch::CertifiedKey> keys;
    const auto of = [&keys](const std::string& public_key) -> batch::CertifiedKey& {
        const auto known = std::find_if(keys.begin(), keys.end(), [&](const auto& one) {
            return one.public_key == public_key;
        });
        return known != keys.end() ? *known : keys.emplace_back(batch::CertifiedKey{public_key});
    };
    for (const batch::Entry& entry : batch.journal.entries())
        ++of(entry.public_key).entries;
    std::set<std::string> logs;
    for (const batch::TestedRun& run : batch.runs)
        if (logs.insert(run.file).second)
            ++of(run.signed_by).logs;
    return keys;
}

void add_period(Certificate& certificate) {
    for (const batch::TestedRun& run : certificate.runs) {
        if (!run.counted())
            continue;
        const auto earlier = [](const std::string& a, const std::string& b) {
            return parse_rfc3339(a, 0) < parse_rfc3339(b, 0);
        };
        if (certificate.tested_from.empty() || earlier(run.started, certificate.tested_from))
            certificate.tested_from = run.started;
        if (certificate.tested_to.empty() || earlier(certificate.tested_to, run.ended))
            certificate.tested_to = run.ended;
    }
}

} // namespace

Result<Certificate> drawn_up(const Batch& batch, const IssueFacts& facts) {
    if (!batch.decision)
        return usage_error(fmt::format("batch {}", batch.id), "it is not decided",
                           "decide it first: dropledger batch decide");
    for (const batch::Revocation& taken : batch.revocations)
        if (taken.cause != batch::RevocationCause::wrong_report)
            return usage_error(fmt::format("batch {}", batch.id),
                               fmt::format("its evidence was taken back with certificate {} ({}): "
                                           "{}",
                                           taken.certificate,
                                           row_in(batch::revocation_cause_names, taken.cause).key,
                                           taken.text),
                               "open another batch and test again");
    const auto profile = verdict::parse_profile(batch.profile.text, batch.profile.name);
    if (!profile)
        return profile.error();
    Certificate certificate;
    certificate.id = fmt::format("{}/{}", batch.id, facts.issued);
    certificate.issued = facts.issued;
    certificate.valid_until = facts.valid_until;
    certificate.program = facts.by_program;
    certificate.report = facts.report;
    certificate.replaces = batch.revocations;
    certificate.batch = certified(batch, facts.batch_file);
    certificate.profile = certified(batch.profile, *profile);
    certificate.plan = certified(batch.plan);
    certificate.decision = certified(batch, *batch.decision);
    certificate.statistics = batch::statistics_of(batch.runs, miss_limit(*profile),
                                                  profile->confidence, batch.pooled_runs);
    certificate.runs = batch.runs;
    certificate.calibrations = batch.calibrations;
    certificate.conditions = conditions_of(batch.runs);
    certificate.keys = keys_of(batch);
    certificate.missing_runs = batch::missing_runs(batch.runs);
    add_period(certificate);
    certificate.pages_sha256 = facts.pages_sha256;
    certificate.remarks = remarks_on(certificate);
    certificate.not_said = not_said(certificate);
    certificate.cautions = cautions();
    return certificate;
}

} // namespace dropledger::evidence
