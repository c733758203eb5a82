// The decision rule and the method of a certificate, in words.
#include "analysis/report/pdf/words.hpp"

#include "analysis/report/words/quantities.hpp"
#include "analysis/report/words/wording.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

namespace dropledger::report::certificate {

using batch::Certificate;
using batch::CertifiedPlan;

namespace {

std::string named_risks(const CertifiedPlan& plan) {
    std::string text;
    if (plan.named.producer)
        text += fmt::format("Producer's risk: a batch with {:.2g} % nonconforming units is not "
                            "accepted with a chance of {:.1f} %. ",
                            100.0 * plan.named.producer->share,
                            100.0 - 100.0 * plan.named.producer->accept_probability);
    else
        text += "Producer's risk: the plan names no level that should be accepted. ";
    if (plan.named.consumer)
        text += fmt::format(
            "Consumer's risk: a batch with {:.2g} % nonconforming units is accepted "
            "with a chance of {:.1f} %.",
            100.0 * plan.named.consumer->share, 100.0 * plan.named.consumer->accept_probability);
    else
        text += "Consumer's risk: even a batch of nonconforming units only may be accepted.";
    return text;
}

std::string unit_rule(const Certificate& certificate) {
    const std::string level = percent_words(certificate.profile.confidence);
    return fmt::format(
        "A run is within where the whole {0} interval of every limited quantity keeps its limit, "
        "outside where the whole interval of one is beyond it, undecided otherwise or with fewer "
        "than {1} drops. So a quantity that lies exactly on its limit is called within, or "
        "outside, with a chance of nominally at most {2} each; every further run of a unit that is "
        "still undecided is one more such chance.",
        level, grouped(certificate.profile.least_drops),
        percent_words((1.0 - certificate.profile.confidence) / 2.0));
}

std::string measured_words(const Certificate& certificate) {
    const auto& found = certificate.decision.measured;
    if (!found || !certificate.plan.measured)
        return "";
    const Unit unit = unit_of(certificate.plan.measured->quantity);
    return fmt::format(
        "By variables: mean {}, standard deviation {}, mean and k standard deviations {}, to keep "
        "{}{}{}.",
        with_unit(found->mean, unit, 4), with_unit(found->sd, unit, 4),
        with_unit(found->criterion, unit, 4), limit_head(*certificate.plan.measured),
        found->normality_p ? fmt::format("; values against normal: Anderson-Darling, p {}",
                                         p_words(*found->normality_p))
                           : "; too few values to test whether they are normal",
        found->outside_others.empty()
            ? ""
            : "; outside by another limit: " +
                  fmt::format("{}", fmt::join(found->outside_others, ", ")));
}

std::string pooled_words(const Certificate& certificate) {
    std::string text = fmt::format(
        "As stated when the batch was opened, a unit whose first {} runs are all undecided is "
        "judged once by them together (runs weighed by drops, half-widths of their intervals in "
        "quadrature)",
        *certificate.batch.pooled_runs);
    std::vector<std::string> units;
    for (const batch::PooledRuns& one : certificate.decision.pooled)
        units.push_back(fmt::format("{} {}", one.unit, verdict::name_of(one.outcome)));
    return text +
           (units.empty() ? "; none was." : ": " + fmt::format("{}", fmt::join(units, ", ")) + ".");
}

} // namespace

std::vector<std::string> decision_rule(const Certificate& certificate) {
    std::vector<std::string> rules{unit_rule(certificate)};
    if (certificate.plan.measured)
        rules.push_back(measured_words(certificate) +
                        " The batch is accepted where that keeps the limit, the values are not "
                        "refuted as normal at 5 %, and no unit is outside by another limit.");
    else
        rules.emplace_back(
            "A unit is nonconforming where any counted run of it is outside, conforming where none "
            "is and one is within; it is tested again only with a reason, and all its runs count.");
    if (certificate.batch.pooled_runs)
        rules.push_back(pooled_words(certificate));
    rules.push_back(named_risks(certificate.plan));
    return rules;
}

std::vector<std::string> method(const Certificate& certificate) {
    return {fmt::format(
        "Bench test of single units by {}: drops commanded by position, seeds seen by a calibrated "
        "gate; misses, multiples and spacing by the definitions of ISO 7256-1:1984 (from memory), "
        "placement and ledger by the program's own measures, intervals by the methods beside them "
        "in the logs' audits. Sampling: ISO 2859-1 and MIL-STD-105E.",
        certificate.program)};
}

} // namespace dropledger::report::certificate
