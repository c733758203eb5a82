#include "bench/commands/plan/plan_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::cli::plan {

namespace {

std::string number(const std::optional<std::int64_t>& value) {
    return value ? fmt::format("{}", *value) : "-";
}

std::string percent(double share) {
    return fmt::format("{:.3g} %", 100.0 * share);
}

std::string levels(const statistics::TwoPoint& points) {
    return fmt::format("good {}, rejected at most {} of the time; bad {}, accepted at most {}\n",
                       percent(points.good), percent(points.alpha), percent(points.bad),
                       percent(points.beta));
}

std::string minutes(const std::optional<Pace>& pace, double drops) {
    return pace ? fmt::format(" ({:.1f} min)", pace->minutes(drops)) : "";
}

std::string saving(const SequentialReport& report, const char* where,
                   const statistics::OperatingPoint& at) {
    const double fixed = static_cast<double>(report.fixed.n);
    const double saved = fixed - at.mean_entries;
    return fmt::format("  {:<22} {:>8.1f} drops on average, {:.1f} {}{} ({:.0f} %)\n",
                       fmt::format("{} ({}):", where, percent(at.p)), at.mean_entries,
                       std::abs(saved), saved >= 0.0 ? "fewer" : "more",
                       minutes(report.pace, std::abs(saved)), 100.0 * std::abs(saved) / fixed);
}

std::string decision_rows(const SequentialReport& report) {
    constexpr std::size_t most_rows = 24;
    std::string out =
        fmt::format("{:>10} {:>16} {:>14}\n", "from drop", "accept at most", "reject from");
    const auto rows = changes(report.table);
    for (std::size_t i = 0; i < std::min(rows.size(), most_rows); ++i)
        out += fmt::format("{:>10} {:>16} {:>14}\n", rows[i].n, number(rows[i].accept),
                           number(rows[i].reject));
    if (rows.size() > most_rows)
        out += fmt::format("{:>10} {} further rows with --json\n", "…", rows.size() - most_rows);
    return out;
}

template <class Point> bool shown(const std::vector<Point>& curve, std::size_t i) {
    return curve.size() <= 24 || i % 2 == 0 || i + 1 == curve.size();
}

std::string quality_rows(const std::vector<batch::QualityPoint>& curve) {
    const bool rectified = !curve.empty() && curve.front().outgoing_quality.has_value();
    std::string out = fmt::format("{:>10} {:>10}", "share", "accepted");
    out += rectified ? fmt::format(" {:>14} {:>14}\n", "outgoing (AOQ)", "units inspected") : "\n";
    for (std::size_t i = 0; i < curve.size(); ++i) {
        if (!shown(curve, i))
            continue;
        out += fmt::format("{:>10} {:>10.4f}", percent(curve[i].p), curve[i].accept_probability);
        out += rectified ? fmt::format(" {:>14} {:>14.1f}\n", percent(*curve[i].outgoing_quality),
                                       *curve[i].total_inspection)
                         : "\n";
    }
    return out;
}

std::string interval_row(const char* name, statistics::Interval interval) {
    return fmt::format("  {:<16} {:.4f} to {:.4f}\n", name, interval.low, interval.high);
}

std::string limit_sentence(const IntervalReport& report) {
    const std::string limit = percent(*report.limit);
    if (!report.more)
        return fmt::format("Limit {}: not decided within {} more drops in nine of ten such runs.\n",
                           limit, report.cap);
    if (*report.more == 0)
        return fmt::format("Limit {}: decided, the whole interval lies {} it.\n", limit,
                           report.clopper_pearson.high <= *report.limit ? "below" : "above");
    return fmt::format(
        "Limit {}: undecided; {} more drops{} would decide it in nine of ten such runs.\n", limit,
        *report.more, minutes(report.pace, static_cast<double>(*report.more)));
}

} // namespace

std::vector<Numbers> changes(const std::vector<Numbers>& table) {
    std::vector<Numbers> rows;
    for (const Numbers& row : table)
        if (rows.empty() || rows.back().accept != row.accept || rows.back().reject != row.reject)
            rows.push_back(row);
    return rows;
}

std::string text(const SequentialReport& report) {
    const auto& plan = report.plan;
    std::string out = "Sequential plan (Wald): " + levels(plan.points);
    out += fmt::format(
        "After n drops accept with at most {0:.6f} n - {1:.6f} hits, reject with at least "
        "{0:.6f} n + {2:.6f}.\n",
        plan.slope, plan.h_accept, plan.h_reject);
    if (report.maximum)
        out += fmt::format("The run ends undecided after {} drops.\n", *report.maximum);
    out += "\n" + decision_rows(report) + "\nExact chances (recursion over these numbers)\n";
    out += fmt::format("{:>10} {:>10} {:>10} {:>10} {:>11}\n", "share", "accepted", "rejected",
                       "undecided", "mean drops");
    for (std::size_t i = 0; i < report.curve.size(); ++i) {
        const auto& point = report.curve[i];
        if (shown(report.curve, i) || point.p == plan.points.good || point.p == plan.points.bad)
            out += fmt::format("{:>10} {:>10.4f} {:>10.4f} {:>10.4f} {:>11.1f}\n", percent(point.p),
                               point.accept, point.reject, point.undecided, point.mean_entries);
    }
    const double fixed = static_cast<double>(report.fixed.n);
    out += fmt::format(
        "\nA single sample with the same risks takes {} drops{} and accepts with at most {} "
        "hits. Against it:\n",
        report.fixed.n, minutes(report.pace, fixed), report.fixed.accept);
    out += saving(report, "at the good level", report.at_good);
    out += saving(report, "at the bad level", report.at_bad);
    out += saving(report, "at the worst", report.longest);
    return out;
}

std::string text(const FixedReport& report) {
    std::string out = "Fixed plan: " + levels(report.points);
    const double n = static_cast<double>(report.plan.n);
    out += fmt::format("Take {}{}{}; accept with at most {} hits, reject from {}.\n", report.plan.n,
                       report.lot ? fmt::format(" of {} units", *report.lot) : " drops",
                       minutes(report.pace, n), report.plan.accept, report.plan.accept + 1);
    out += fmt::format(
        "No smaller sample keeps both risks: {:.4f} accepted at {}, {:.4f} at {} ({}).\n\n",
        report.at_good.accept_probability, percent(report.at_good.p),
        report.at_bad.accept_probability, percent(report.at_bad.p),
        report.lot ? "hypergeometric" : "binomial");
    return out + quality_rows(report.curve);
}

std::string text(const IntervalReport& report) {
    std::string out = fmt::format(
        "{} of {} drops: {}; two-sided interval at {:g}\n", report.of, report.n,
        percent(static_cast<double>(report.of) / static_cast<double>(report.n)), report.confidence);
    out += interval_row("Clopper-Pearson", report.clopper_pearson);
    out += interval_row("Wilson", report.wilson);
    out += interval_row("Jeffreys", report.jeffreys);
    out += interval_row("mid-P", report.mid_p);
    out += "\nClopper-Pearson with more drops at the same share\n";
    out += fmt::format("{:>10} {:>8} {:>8} {:>8}\n", "drops", "low", "high", "width");
    for (const LaterInterval& later : report.later)
        out += fmt::format("{:>10} {:>8.4f} {:>8.4f} {:>8.4f}{}\n", later.n, later.interval.low,
                           later.interval.high, later.interval.high - later.interval.low,
                           minutes(report.pace, static_cast<double>(later.n)));
    if (report.limit)
        out += "\n" + limit_sentence(report);
    return out;
}

std::string text(const AcceptanceReport& report) {
    std::string out;
    if (report.plan)
        out += fmt::format("Lot of {}, level {}, AQL {:g} %, {} inspection: code letter {}\n",
                           *report.lot, report.level, report.aql, report.severity,
                           report.plan->letter);
    out += fmt::format("Sample {}: accept with at most {}, reject from {}.\n", report.numbers.n,
                       report.accept, report.numbers.reject);
    if (report.numbers.reject > report.accept + 1)
        out += "A count between the two accepts the lot and ends reduced inspection.\n";
    if (report.plan && report.plan->whole_lot)
        out += "The table asks for at least the whole lot: inspect every unit.\n";
    if (report.outgoing_limit)
        out += fmt::format(
            "Largest average outgoing share, where rejected lots are sorted (AOQL): {} at {}.\n",
            percent(report.outgoing_limit->aoql), percent(report.outgoing_limit->p));
    return out +
           fmt::format("\nOperating characteristic ({})\n",
                       report.lot ? "hypergeometric" : "binomial") +
           quality_rows(report.curve);
}

namespace {

std::string found_lines(const FoundDouble& found) {
    std::string out = "Smallest first sample that keeps both risks\n";
    for (const auto& point : {found.at_good, found.at_bad})
        out += fmt::format("  at {}: accepted with {}, {:.1f} units on average\n", percent(point.p),
                           percent(point.accept_probability()), point.mean_sample);
    return out + fmt::format("  the smallest single sample takes {}, accepting with at most {}\n\n",
                             found.single.n, found.single.accept);
}

} // namespace

std::string text(const DoubleReport& report) {
    const auto& plan = report.plan;
    std::string out = fmt::format(
        "First sample {}: accept with at most {}, reject from {}; between them draw {} more "
        "and accept with at most {} in both.\n\n",
        plan.n1, plan.accept1, plan.reject1, plan.n2, plan.accept2);
    if (report.found)
        out += found_lines(*report.found);
    out +=
        fmt::format("{:>10} {:>10} {:>10} {:>10} {:>12}   ({})\n", "share", "accepted", "by first",
                    "by second", "mean sample", report.lot ? "hypergeometric" : "binomial");
    for (std::size_t i = 0; i < report.curve.size(); ++i)
        if (shown(report.curve, i))
            out += fmt::format("{:>10} {:>10.4f} {:>10.4f} {:>10.4f} {:>12.1f}\n",
                               percent(report.curve[i].p), report.curve[i].accept_probability(),
                               report.curve[i].accept_first, report.curve[i].accept_second,
                               report.curve[i].mean_sample);
    return out;
}

} // namespace dropledger::cli::plan
