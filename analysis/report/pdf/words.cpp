#include "analysis/report/pdf/words.hpp"

#include "analysis/base/text.hpp"
#include "analysis/report/words/quantities.hpp"
#include "analysis/report/words/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::report::certificate {

using batch::BatchStatistics;
using batch::Certificate;
using batch::CertifiedPlan;

namespace {

std::string_view outcome_words(batch::LotOutcome outcome) {
    switch (outcome) {
    case batch::LotOutcome::accepted:
        return "accepted";
    case batch::LotOutcome::accepted_ends_reduced:
        return "accepted; reduced inspection ends";
    case batch::LotOutcome::not_accepted:
        return "not accepted";
    }
    throw BrokenInvariant("an outcome of a batch without words");
}

std::string units(std::int64_t count) {
    return fmt::format("{} {}", grouped(count), count == 1 ? "unit" : "units");
}

// "miss index M at most 5 %"
std::string words_of_limit(const verdict::Limit& limit) {
    const Unit unit = unit_of(limit.quantity);
    const std::string_view symbol = symbol_of(unit);
    return fmt::format("{} {} {:.6g}{}{}", words_of(limit.quantity),
                       row_in(measures::senses, limit.sense()).words, displayed(limit.value, unit),
                       symbol.empty() ? "" : " ", symbol);
}

std::string numbers_of(const CertifiedPlan& plan) {
    if (plan.samples)
        return fmt::format("{} first: accepted with at most {} nonconforming, not accepted from "
                           "{}; else {} more: accepted with at most {} in both",
                           units(plan.samples->n1), grouped(plan.samples->accept1),
                           grouped(plan.samples->reject1), grouped(plan.samples->n2),
                           grouped(plan.samples->accept2));
    if (plan.measured)
        return fmt::format("{} measured; accepted where {} by mean and k = {:.4f} standard "
                           "deviations",
                           units(plan.n), words_of_limit(*plan.measured), plan.k.value_or(0.0));
    return fmt::format("{} tested; accepted with at most {} nonconforming, not accepted from {}",
                       units(plan.n), grouped(plan.accept), grouped(plan.reject));
}

std::string kind_words(const CertifiedPlan& plan) {
    switch (plan.kind) {
    case batch::PlanKind::table:
        return fmt::format("single sampling by attributes from the tables of ISO 2859-1 and "
                           "MIL-STD-105E: level {}, AQL {} %, {} inspection, code letter {}{}",
                           plan.level,
                           plan.aql_percent ? fmt::format("{:g}", *plan.aql_percent) : "not stated",
                           plan.severity ? word_of(*plan.severity) : "not stated", plan.letter,
                           plan.computed ? ", the cell computed by the tables' rule" : "");
    case batch::PlanKind::own:
        return "single sample by attributes, its numbers chosen by hand";
    case batch::PlanKind::two_samples:
        return "two samples by attributes, the second only where the first is in doubt";
    case batch::PlanKind::variables:
        return "one sample by variables, spread unknown";
    case batch::PlanKind::two_point:
        return "smallest single sample that keeps a producer's and a consumer's risk";
    }
    throw BrokenInvariant("a plan without a kind");
}

std::string plan_words(const CertifiedPlan& plan) {
    const std::string why =
        plan.severity_reason.empty() ? "" : fmt::format(" ({})", plan.severity_reason);
    return kind_words(plan) + why + ": " + numbers_of(plan) + ".";
}

std::string joined(const std::vector<std::string>& parts, const char* between) {
    std::string text;
    for (const std::string& part : parts)
        text += (text.empty() ? "" : between) + part;
    return text;
}

std::string limits_of(const std::vector<verdict::Limit>& limits) {
    std::vector<std::string> words;
    words.reserve(limits.size());
    for (const verdict::Limit& limit : limits)
        words.push_back(words_of_limit(limit));
    return joined(words, "; ");
}

// A whole number of millionths or thousandths in its unit: "250000" with 1e-6 is 0.25.
std::string scaled(const std::string& number, double scale, const char* unit) {
    const auto value = parse_int(number);
    return value ? fmt::format("{:g} {}", static_cast<double>(*value) * scale, unit) : number;
}

std::vector<std::string> parts_of(const batch::RunConditions& made) {
    std::vector<std::string> parts;
    const auto add = [&parts](const char* name, const std::string& text) {
        if (!text.empty())
            parts.push_back(fmt::format("{} {}", name, text));
    };
    add("mode", made.mode);
    add("speed", scaled(made.speed_um_s, 1e-6, "m/s"));
    add("spacing", scaled(made.spacing_um, 1e-3, "mm"));
    if (made.count != "1")
        add("seeds a drop", made.count);
    add("rate", scaled(made.rate_per_m_milli, 1e-3, "seeds a metre"));
    add("crop", made.crop);
    add("seed lot", made.seed_lot);
    add("thousand-seed mass", scaled(made.thousand_seed_mass_mg, 1e-3, "g"));
    add("bench", made.bench);
    add("operator", made.operated_by);
    add("firmware", made.firmware);
    return parts;
}

std::string misses_words(const BatchStatistics& found) {
    if (!found.pooled_miss)
        return fmt::format("{} misses in {} drops of {}.", grouped(found.misses),
                           grouped(found.drops), units(found.units));
    return fmt::format("Misses over all counted runs: {}; {} of {} drops of {}, as the gate saw "
                       "them.",
                       share_words(*found.pooled_miss), grouped(found.misses), grouped(found.drops),
                       units(found.units));
}

std::string history_words(const std::vector<batch::EarlierBatch>& history) {
    std::vector<std::string> words;
    words.reserve(history.size());
    for (const batch::EarlierBatch& one : history)
        words.push_back(fmt::format("{} ({})", one.id, one.head.substr(0, 12)));
    return "severity by " + joined(words, ", ");
}

std::string tarone_words(double p) {
    const std::string words = p_words(p);
    return words.starts_with("below") ? "p " + words : "p = " + words;
}

} // namespace

std::string title(const Certificate& certificate) {
    return fmt::format("{}Batch {}: {}",
                       certificate.batch.rehearsal ? "SIMULATED, a rehearsal. " : "",
                       certificate.batch.id, outcome_words(certificate.decision.outcome));
}

std::string lead(const Certificate& certificate) {
    const auto& decision = certificate.decision;
    return fmt::format(
        "Of {} in the batch, {} were chosen at random and {} tested to a decision; {} of them {} "
        "not keep to the profile {}. The plan accepts with at most {}: the batch is {}.",
        units(certificate.batch.size),
        grouped(static_cast<std::int64_t>(certificate.batch.chosen.size())),
        grouped(decision.tested), grouped(decision.nonconforming),
        decision.nonconforming == 1 ? "does" : "do", certificate.profile.name,
        grouped(certificate.plan.accept), outcome_words(decision.outcome));
}

std::vector<Fact> report_facts(const Certificate& certificate) {
    const batch::ReportFacts& report = certificate.report;
    const auto stated = [](const std::string& text) { return text.empty() ? "not stated" : text; };
    std::vector<Fact> rows{
        {"Number", report.number.empty() ? certificate.id
                                         : fmt::format("{} ({})", report.number, certificate.id)},
        {"Issuer", stated(report.issuer)},
        {"Place of test", stated(report.place)},
        {"Client", stated(report.client)},
        {"Product", stated(report.product)},
        {"Serials", fmt::format("{}: {}", units(certificate.batch.size),
                                joined(certificate.batch.serial_ranges, ", "))},
        {"Authorised by", stated(report.authorised_by)},
        {"Deviations", report.deviations.empty() ? "none stated by the issuer"
                                                 : joined(report.deviations, "; ")}};
    for (const batch::Revocation& one : certificate.replaces)
        rows.push_back({"Replaces", fmt::format("certificate {}, taken back {}: {}",
                                                one.certificate, time_words(one.at), one.text)});
    return rows;
}

std::vector<Fact> facts(const Certificate& certificate) {
    std::vector<Fact> rows{
        {"Issued", fmt::format("{}, valid until {}", time_words(certificate.issued),
                               certificate.valid_until)},
        {"Batch", fmt::format("{}, {}, opened {}", certificate.batch.id,
                              units(certificate.batch.size), time_words(certificate.batch.opened))},
        {"Against",
         fmt::format("profile {}, mode {}: {}", certificate.profile.name,
                     name_of(certificate.profile.mode), limits_of(certificate.profile.limits))},
        {"Tested", fmt::format("{} to {}", time_words(certificate.tested_from),
                               time_words(certificate.tested_to))},
        {"Plan", plan_words(certificate.plan)}};
    if (!certificate.batch.history.empty())
        rows.push_back({"History", history_words(certificate.batch.history)});
    rows.push_back({"Decided", fmt::format("{}: {}", time_words(certificate.decision.decided),
                                           outcome_words(certificate.decision.outcome))});
    if (!certificate.decision.nonconforming_units.empty())
        rows.push_back({"Nonconforming", joined(certificate.decision.nonconforming_units, ", ")});
    return rows;
}

std::string risks(const CertifiedPlan& plan) {
    std::vector<std::string> points;
    for (const auto& point : plan.risks)
        if (point.share > 0.0 && point.accept_probability > 0.001)
            points.push_back(fmt::format("{:.3g} %: {:.1f} %", 100.0 * point.share,
                                         100.0 * point.accept_probability));
    if (points.empty())
        return "";
    return "Chance that this plan accepts a batch, by its share of nonconforming units (rings in "
           "the drawing): " +
           joined(points, "; ") + ".";
}

std::vector<std::string> expectations(const BatchStatistics& found) {
    std::vector<std::string> sentences;
    if (found.nonconforming_share)
        sentences.push_back(
            fmt::format("Share of all units of such a batch that do not keep to the "
                        "profile, from the tested units alone: {}.",
                        share_words(*found.nonconforming_share)));
    if (found.share_outside && found.limit)
        sentences.push_back(fmt::format(
            "Share of all units of such a batch with more than {} misses, predicted from the "
            "units tested, if units vary as a beta-binomial distribution says: {}.",
            percent_words(*found.limit), share_words(*found.share_outside)));
    else if (found.limit)
        sentences.emplace_back("What share of all units lies beyond the limit can't be predicted "
                               "from these runs.");
    sentences.push_back(misses_words(found));
    if (found.tarone_p)
        sentences.push_back(
            *found.tarone_p < 0.05
                ? fmt::format("The units differ among themselves more than chance makes them "
                              "(Tarone's test, {}).",
                              tarone_words(*found.tarone_p))
                : fmt::format("No difference between the units beyond chance is seen (Tarone's "
                              "test, {}).",
                              tarone_words(*found.tarone_p)));
    return sentences;
}

std::vector<std::string> conditions(const Certificate& certificate) {
    std::vector<std::string> sentences;
    for (const batch::CertifiedConditions& one : certificate.conditions)
        sentences.push_back(fmt::format("{}: {}.",
                                        one.runs == 1 ? "1 run" : grouped(one.runs) + " runs",
                                        joined(parts_of(one.conditions), "; ")));
    return sentences;
}

std::string efficiency_words(const batch::UsedCalibration& calibration) {
    const auto& found = calibration.found;
    if (!found.efficiency)
        return "no counting";
    const std::string how = found.rests_on == batch::RestsOn::logs
                                ? found.found_by + " in " + joined(found.inputs, ", ")
                            : found.figures.empty() ? "TYPED"
                                                    : found.found_by + ", TYPED: " + found.figures;
    const std::string value = estimate_value(*found.efficiency, Unit::percent);
    return found.efficiency->interval
               ? fmt::format("{} ({}); {}", value,
                             estimate_interval(*found.efficiency, Unit::percent), how)
               : fmt::format("{}; {}", value, how);
}

std::vector<Check> checking(const Certificate& certificate, const std::string& attachment) {
    return {
        {fmt::format("What is signed is the file {} inside this PDF (Ed25519 over its canonical "
                     "JSON, RFC 8785); it holds the hash of these pages. Any PDF reader can "
                     "detach it. With batch file, logs and calibrations in one folder:",
                     attachment),
         fmt::format("dropledger batch verify {} --logs FOLDER --public-key KEY", attachment)},
        {"Public key of the issuer, to be compared with the one that the issuer gave you by "
         "another way:",
         certificate.public_key.empty() ? "NOT SIGNED" : certificate.public_key},
        {"Hash of the first entry of the batch file, to be compared with the one that you were "
         "told when the batch was opened:",
         certificate.batch.journal.opening},
        {fmt::format("Hash of the last of its {} entries ({}):", certificate.batch.journal.entries,
                     certificate.batch.journal.file),
         certificate.batch.journal.head}};
}

std::string time_words(const std::string& time) {
    const bool utc = time.size() >= 20 && time[10] == 'T' && time.back() == 'Z';
    return utc ? fmt::format("{} {} UTC", time.substr(0, 10), time.substr(11, 5)) : time;
}

namespace {

// Never zeros for something: "below 0.0001 %".
std::string shown(double value, Unit unit, int decimals) {
    constexpr int most_decimals = 4;
    const int last = value > 0.0 ? std::max(decimals, most_decimals) : decimals;
    for (int more = decimals; more <= last; ++more)
        if (std::string words = with_unit(value, unit, more);
            words.find_first_of("123456789") != std::string::npos)
            return words;
    const std::string_view symbol = symbol_of(unit);
    const std::string end = symbol.empty() ? "" : fmt::format(" {}", symbol);
    return value > 0.0 ? fmt::format("below {:.{}f}{}", std::pow(10.0, -last), last, end)
                       : "0" + end;
}

} // namespace

std::string estimate_value(const statistics::Estimate& estimate, Unit unit) {
    return shown(estimate.value, unit, decimals_of(estimate, unit));
}

std::string estimate_interval(const statistics::Estimate& estimate, Unit unit) {
    if (!estimate.interval)
        return "";
    const int decimals = decimals_of(estimate, unit);
    std::string low = shown(estimate.interval->low, unit, decimals);
    const std::string high = shown(estimate.interval->high, unit, decimals);
    const std::string symbol = fmt::format(" {}", symbol_of(unit));
    if (symbol.size() > 1 && low.ends_with(symbol)) // the unit once
        low.erase(low.size() - symbol.size());
    return fmt::format("{} to {}", low, high);
}

std::string share_words(const statistics::Estimate& share) {
    if (!share.interval)
        return estimate_value(share, Unit::percent);
    return fmt::format("{} ({} interval {})", estimate_value(share, Unit::percent),
                       percent_words(share.confidence.level()),
                       estimate_interval(share, Unit::percent));
}

std::string result_words(const batch::LimitResult& result) {
    if (!result.estimate)
        return "not defined";
    const Unit unit = unit_of(result.limit.quantity);
    const std::string value = estimate_value(*result.estimate, unit);
    return result.estimate->interval
               ? fmt::format("{} ({})", value, estimate_interval(*result.estimate, unit))
               : value;
}

std::string limit_head(const verdict::Limit& limit) {
    return words_of_limit(limit);
}

std::string attachment_name(const Certificate& certificate) {
    std::string name = certificate.batch.id.substr(0, 80);
    std::replace_if(
        name.begin(), name.end(),
        [](char c) {
            const bool kept = (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') ||
                              (c >= 'a' && c <= 'z') || c == '.' || c == '-' || c == '_';
            return !kept;
        },
        '_');
    return name + ".certificate.json";
}

} // namespace dropledger::report::certificate
