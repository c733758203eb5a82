#include "bench/evidence/issue.hpp"

#include "analysis/batch/choice.hpp"
#include "bench/evidence/known_profile.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::evidence {

using batch::Batch;
using batch::Certificate;

namespace {

constexpr const char* program = "dropledger 0.1.0";

std::vector<std::string> not_said(const Batch& batch) {
    std::vector<std::string> sentences;
    if (batch.plan.numbers.n < batch.size())
        sentences.push_back(fmt::format(
            "It does not say that each of the {} units keeps the limits: {} were chosen at "
            "random and tested; the risks of the plan are stated.",
            batch.size(), batch.plan.numbers.n));
    sentences.emplace_back("It speaks of the units as they were on the bench, with the seed, the "
                           "speed and the spacing "
                           "of the runs: not of other seed, of wear, or of work in the field.");
    sentences.emplace_back(
        "Misses and their shares are as the gate saw them, a seed that the gate overlooked is a "
        "miss; the verdict on each run takes the calibrated gate's own misses out.");
    sentences.emplace_back(
        "The signature shows that a holder of the key issued it and nothing was changed since; "
        "whose key that is must be known from elsewhere.");
    return sentences;
}

std::vector<std::string> cautions() {
    return {
        "Seed may be treated, and its dust harms: the seed label says which protection to wear.",
        "Discs, belts and valves move without warning; gates emit invisible infrared light; motors "
        "and valves "
        "carry current: switch off and unplug before reaching in.",
        "The seed label, local codes and licensed practice rule over this certificate."};
}

batch::CertifiedPlan certified(const batch::BatchPlan& plan, std::int64_t lot) {
    batch::CertifiedPlan stated;
    stated.kind = plan.kind;
    stated.n = plan.numbers.n;
    stated.accept = plan.numbers.accept;
    stated.reject = plan.numbers.reject;
    stated.severity_reason = plan.severity_reason;
    stated.risks = batch::risks_of(plan.numbers, lot);
    if (plan.kind == batch::PlanKind::table) {
        stated.level = plan.request.level;
        stated.aql_percent = plan.request.aql;
        stated.severity = plan.request.severity;
        stated.letter = std::string(1, plan.numbers.letter);
    }
    if (plan.points)
        stated.severity_reason =
            fmt::format("smallest sample that rejects at {} nonconforming with a risk of at most "
                        "{} and accepts at {} "
                        "with one of at most {}",
                        plan.points->good, plan.points->alpha, plan.points->bad, plan.points->beta);
    return stated;
}

batch::CertifiedDecision certified(const Batch& batch, const batch::BatchDecision& decision) {
    const batch::Standing found = batch::standing(batch.chosen, batch.runs);
    batch::CertifiedDecision stated;
    stated.outcome = decision.outcome;
    stated.tested = static_cast<std::int64_t>(found.conforming.size() + found.nonconforming.size());
    stated.nonconforming = decision.nonconforming;
    stated.nonconforming_units = found.nonconforming;
    stated.decided = decision.decided;
    return stated;
}

Certificate certificate_of(const Batch& batch, const verdict::Profile& profile,
                           const IssueRequest& request) {
    Certificate certificate;
    certificate.id = fmt::format("{}/{}", batch.id, request.issued);
    certificate.issued = request.issued;
    certificate.valid_until = request.valid_until;
    certificate.program = program;
    certificate.batch = {batch.id,
                         batch.opened,
                         batch.size(),
                         batch::serials_hash(batch.serials),
                         fmt::format("{}", batch.seed),
                         batch::choice_method,
                         batch.chosen};
    certificate.profile = {batch.profile.name, batch.profile.sha256, profile.mode, profile.limits};
    certificate.plan = certified(batch.plan, batch.size());
    certificate.decision = certified(batch, *batch.decision);
    certificate.statistics =
        batch::statistics_of(batch.runs, miss_limit(profile), profile.confidence);
    certificate.runs = batch.runs;
    certificate.calibrations = batch.calibrations;
    certificate.not_said = not_said(batch);
    certificate.cautions = cautions();
    return certificate;
}

void check_log_keys(const Certificate& certificate, const IssueRequest& request,
                    std::vector<Failure>& failures) {
    for (const batch::TestedRun& run : certificate.runs) {
        const bool known = run.signed_by == certificate.public_key ||
                           std::find(request.bench_keys.begin(), request.bench_keys.end(),
                                     run.signed_by) != request.bench_keys.end();
        if (run.counted && !run.signed_by.empty() && !known)
            failures.push_back(
                {"log_other_key", run.file,
                 fmt::format(
                     "it is signed by the key {}, which is neither the certificate's nor one "
                     "named as a bench's key",
                     run.signed_by)});
    }
}

} // namespace

Result<Issued> issue(const Batch& batch, const Folder& folder, const IssueRequest& request) {
    const std::string where = fmt::format("batch {}", batch.id);
    if (!batch.decision)
        return usage_error(where, "it is not decided", "decide it first: dropledger batch decide");
    if (batch.decision->outcome == batch::LotOutcome::not_accepted && !request.not_accepted_too)
        return usage_error(where, "it was not accepted: there is nothing to certify",
                           "`not_accepted` signs the evidence of a batch that was not accepted");
    const auto profile = verdict::parse_profile(batch.profile.text, batch.profile.name);
    if (!profile)
        return profile.error();
    auto certificate = batch::signed_with(request.key, certificate_of(batch, *profile, request));
    if (!certificate)
        return certificate.error();
    auto text = batch::to_text(*certificate);
    if (!text)
        return text.error();
    Issued issued{*std::move(certificate), *std::move(text), {}};
    VerifyOptions options;
    options.today = day_of(request.issued);
    options.serials = batch.serials;
    issued.failures = verify(issued.text, folder, options).failures;
    check_log_keys(issued.certificate, request, issued.failures);
    return issued;
}

} // namespace dropledger::evidence
