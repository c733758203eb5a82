#include "bench/commands/plan/plan_json.hpp"

#include "analysis/base/readers/or_null.hpp"

namespace dropledger::cli::plan {

using Json = nlohmann::ordered_json;

namespace {

Json points_of(const statistics::TwoPoint& points) {
    return {
        {"good", points.good}, {"bad", points.bad}, {"alpha", points.alpha}, {"beta", points.beta}};
}

Json of(const statistics::OperatingPoint& point) {
    return {{"p", point.p},
            {"accept_probability", point.accept},
            {"reject_probability", point.reject},
            {"undecided_probability", point.undecided},
            {"mean_drops", point.mean_entries}};
}

Json of(const batch::QualityPoint& point) {
    Json out{{"p", point.p}, {"accept_probability", point.accept_probability}};
    if (point.outgoing_quality)
        out["average_outgoing_quality"] = *point.outgoing_quality;
    if (point.total_inspection)
        out["average_total_inspection"] = *point.total_inspection;
    return out;
}

Json of(statistics::Interval interval) {
    return Json::array({interval.low, interval.high});
}

template <class Point> Json curve_of(const std::vector<Point>& curve) {
    Json out = Json::array();
    for (const Point& point : curve)
        out.push_back(of(point));
    return out;
}

Json saving(const SequentialReport& report, const statistics::OperatingPoint& at) {
    const double drops = static_cast<double>(report.fixed.n) - at.mean_entries;
    return {{"p", at.p},
            {"mean_drops", at.mean_entries},
            {"drops_saved", drops},
            {"minutes_saved", report.pace ? Json(report.pace->minutes(drops)) : Json(nullptr)}};
}

} // namespace

Json json(const SequentialReport& report) {
    Json out{{"schema", "dropledger/plan-sequential/1"}, {"plan", "sequential"}};
    out.update(points_of(report.plan.points));
    out["k"] = report.plan.k;
    out["h_accept"] = report.plan.h_accept;
    out["h_reject"] = report.plan.h_reject;
    out["slope"] = report.plan.slope;
    out["maximum"] = or_null(report.maximum);
    out["table"] = Json::array();
    for (const Numbers& row : report.table)
        out["table"].push_back(
            {{"n", row.n}, {"accept", or_null(row.accept)}, {"reject", or_null(row.reject)}});
    out["curve"] = curve_of(report.curve);
    out["fixed"] = {{"n", report.fixed.n}, {"accept", report.fixed.accept}};
    out["saving"] = {{"at_good", saving(report, report.at_good)},
                     {"at_bad", saving(report, report.at_bad)},
                     {"at_longest", saving(report, report.longest)}};
    return out;
}

Json json(const FixedReport& report) {
    Json out{{"schema", "dropledger/plan-fixed/1"}, {"plan", "fixed"}};
    out.update(points_of(report.points));
    out["n"] = report.plan.n;
    out["accept"] = report.plan.accept;
    out["reject"] = report.plan.accept + 1;
    out["lot"] = or_null(report.lot);
    out["minutes"] = report.pace ? Json(report.pace->minutes(static_cast<double>(report.plan.n)))
                                 : Json(nullptr);
    out["at_good"] = of(report.at_good);
    out["at_bad"] = of(report.at_bad);
    out["curve"] = curve_of(report.curve);
    return out;
}

Json json(const IntervalReport& report) {
    Json out{{"schema", "dropledger/plan-interval/1"}, {"plan", "interval"}};
    out["of"] = report.of;
    out["n"] = report.n;
    out["share"] = static_cast<double>(report.of) / static_cast<double>(report.n);
    out["confidence"] = report.confidence;
    out["clopper_pearson"] = of(report.clopper_pearson);
    out["wilson"] = of(report.wilson);
    out["jeffreys"] = of(report.jeffreys);
    out["mid_p"] = of(report.mid_p);
    out["later"] = Json::array();
    for (const LaterInterval& later : report.later)
        out["later"].push_back({{"n", later.n}, {"clopper_pearson", of(later.interval)}});
    out["limit"] = or_null(report.limit);
    out["more_drops"] = or_null(report.more);
    out["more_minutes"] = report.more && report.pace
                              ? Json(report.pace->minutes(static_cast<double>(*report.more)))
                              : Json(nullptr);
    if (report.limit && !report.more)
        out["not_within"] = report.cap;
    return out;
}

Json json(const AcceptanceReport& report) {
    Json out{{"schema", "dropledger/plan-acceptance/1"}, {"plan", "acceptance"}};
    if (report.plan) {
        out["letter"] = std::string(1, report.plan->letter);
        out["level"] = report.level;
        out["aql"] = report.aql;
        out["severity"] = report.severity;
        out["whole_lot"] = report.plan->whole_lot;
    }
    out["lot"] = or_null(report.lot);
    out["n"] = report.numbers.n;
    out["accept"] = report.accept;
    out["reject"] = report.numbers.reject;
    if (report.outgoing_limit)
        out["average_outgoing_quality_limit"] = {{"p", report.outgoing_limit->p},
                                                 {"aoql", report.outgoing_limit->aoql}};
    out["law"] = report.lot ? "hypergeometric" : "binomial";
    out["curve"] = curve_of(report.curve);
    return out;
}

namespace {

Json of(const batch::DoublePoint& point) {
    return {{"p", point.p},
            {"accept_probability", point.accept_probability()},
            {"accept_by_first", point.accept_first},
            {"accept_by_second", point.accept_second},
            {"mean_sample", point.mean_sample}};
}

} // namespace

Json json(const DoubleReport& report) {
    Json out{{"schema", "dropledger/plan-double/1"}, {"plan", "double"}};
    out["n1"] = report.plan.n1;
    out["accept1"] = report.plan.accept1;
    out["reject1"] = report.plan.reject1;
    out["n2"] = report.plan.n2;
    out["accept2"] = report.plan.accept2;
    out["found"] = nullptr;
    if (report.found) {
        out["found"] = points_of(report.found->points);
        out["found"]["at_good"] = of(report.found->at_good);
        out["found"]["at_bad"] = of(report.found->at_bad);
        out["found"]["single"] = {{"n", report.found->single.n},
                                  {"accept", report.found->single.accept}};
    }
    out["lot"] = or_null(report.lot);
    out["law"] = report.lot ? "hypergeometric" : "binomial";
    out["curve"] = Json::array();
    for (const batch::DoublePoint& point : report.curve)
        out["curve"].push_back(of(point));
    return out;
}

} // namespace dropledger::cli::plan
