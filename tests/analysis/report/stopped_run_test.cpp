// Runs whose logs state a stopping rule: replayed on the ledger, stated in every output.
#include "tests/analysis/audit/sample.hpp"

#include "analysis/audit/stopped_run.hpp"
#include "analysis/report/html/page.hpp"
#include "analysis/report/json/audit_json.hpp"
#include "analysis/report/pictures/sequential_chart.hpp"
#include "analysis/report/text/audit_text.hpp"

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include <algorithm>

namespace dropledger::report {

namespace {

using Json = nlohmann::ordered_json;
using statistics::Decision;

// The sample misses drops 5, 22, 39, … and doubles 7, 30, 53, …
const std::vector<std::string> rule{"sequential miss 0.01 0.04 0.05 0.05 most 2000 least 30",
                                    "sequential multiples 0.01 0.04 0.05 0.05 most 2000 least 30"};

bool holds(const std::string& text, const std::string& part) {
    return text.find(part) != std::string::npos;
}

const verdict::Criterion& criterion(const audit::ChannelReport& channel,
                                    measures::Quantity quantity) {
    const auto& all = channel.judgement.criteria;
    return *std::find_if(all.begin(), all.end(),
                         [&](const auto& each) { return each.limit.quantity == quantity; });
}

} // namespace

// Constructed: Wald's lines at good 1 %, bad 4 %, risks 5 % (k 1.4170, h 2.0780, slope 0.021627,
// recomputed) are reached by the third miss, at drop 40 (2.94), and the third double, at drop 54
// (3.25), not yet; by the fourth, at 77.
TEST(StoppedRun, IsReplayedOnTheLedger) {
    const audit::AuditReport report = audit::sample::report_of({.drops = 78, .remarks = rule});
    const audit::ChannelReport& channel = report.channels.front();
    const auto& miss = *channel.drops()->miss_test;
    EXPECT_EQ(miss.path.decision(), Decision::reject);
    EXPECT_EQ(miss.path.decided_after(), 40);
    EXPECT_EQ(miss.path.hits_then(), 3);
    EXPECT_FALSE(miss.ended_run);
    const auto& multiples = *channel.drops()->multiples_test;
    EXPECT_EQ(multiples.path.decided_after(), 77);
    EXPECT_EQ(multiples.path.hits_then(), 4);
    EXPECT_TRUE(multiples.ended_run);
}

TEST(StoppedRun, WidensTheIntervalOfTheTestThatEndedIt) {
    const audit::AuditReport stopped = audit::sample::report_of({.drops = 78, .remarks = rule});
    const audit::AuditReport plain = audit::sample::report_of({.drops = 78});
    const auto& with = criterion(stopped.channels[0], measures::Quantity::multiples_index).estimate;
    const auto& without =
        criterion(plain.channels[0], measures::Quantity::multiples_index).estimate;
    EXPECT_LE(with->interval->low, without->interval->low);
    EXPECT_LE(with->interval->low,
              stopped.channels[0].drops()->multiples_test->share->interval->low);
    EXPECT_TRUE(holds(with->method, "stopping points"));
    EXPECT_FALSE(
        holds(criterion(stopped.channels[0], measures::Quantity::miss_index).estimate->method,
              "stopping"));
    EXPECT_FALSE(plain.channels[0].drops()->miss_test);
}

TEST(StoppedRun, StatesItsRuleInEveryOutput) {
    const audit::AuditReport report = audit::sample::report_of({.drops = 78, .remarks = rule});
    const Json sequential = Json::parse(to_json(report))["channels"][0]["sequential"];
    EXPECT_EQ(sequential["rule"], Json(rule));
    EXPECT_EQ(sequential["miss"]["decision"], "bad");
    EXPECT_EQ(sequential["miss"]["drops"], 40);
    for (const std::string& output : {to_text(report), html::to_html(report)}) {
        EXPECT_TRUE(holds(output, "good 1"));
        EXPECT_TRUE(holds(output, "3 in 40 drops"));
    }
    EXPECT_TRUE(holds(html::to_html(report), "between the lines of the sequential test"));
}

// Constructed: drops 5, 22 and 39 of the first 50 are misses.
TEST(StoppedRun, ByALimitKeepsTheIntervalOfItsDecision) {
    const std::vector<std::string> by_limit{"sequential miss limit 0.3 confidence 0.95 first 50 "
                                            "every 10 events 3 most 2000 least 30"};
    const audit::AuditReport report = audit::sample::report_of({.drops = 78, .remarks = by_limit});
    const auto& miss = *report.channels.front().drops()->miss_test;
    EXPECT_EQ(miss.path.decision(), Decision::accept);
    EXPECT_EQ(miss.path.decided_after(), 50);
    EXPECT_EQ(miss.path.hits_then(), 3);
    EXPECT_LE(miss.share->interval->high, 0.3);
    EXPECT_NEAR(miss.share->value, 0.06, 1e-12);
    EXPECT_TRUE(holds(to_text(report), "at most 30 %"));
    EXPECT_TRUE(holds(html::to_html(report), "with the limit that the run was stopped by"));
    EXPECT_EQ(Json::parse(to_json(report))["channels"][0]["sequential"]["rule"], Json(by_limit));
}

TEST(StoppedRun, HasTheSameKindOfIntervalWhereItWasBrokenOff) {
    const audit::AuditReport report = audit::sample::report_of({.drops = 60, .remarks = rule});
    const audit::ChannelReport& channel = report.channels.front();
    EXPECT_EQ(channel.drops()->multiples_test->path.decision(), Decision::go_on);
    EXPECT_FALSE(channel.drops()->miss_test->ended_run);
    EXPECT_TRUE(holds(channel.drops()->multiples_test->share->method, "whenever the run ends"));
}

TEST(StoppedRun, TestsEmptyPortionsAndThoseOverTheirCount) {
    const audit::AuditReport report =
        audit::sample::report_of({.mode = ledger::Mode::portion, .drops = 78, .remarks = rule});
    const audit::ChannelReport& channel = report.channels.front();
    EXPECT_EQ(channel.drops()->miss_test->path.hits(), channel.drops()->table.empty);
    EXPECT_EQ(channel.drops()->multiples_test->path.hits(), channel.drops()->table.over);
    EXPECT_TRUE(holds(to_text(report), "Empty portions"));
}

TEST(StoppedRun, NamesARemarkThatCannotBeRead) {
    const audit::AuditReport report =
        audit::sample::report_of({.remarks = {"sequential miss 0.05 of 0.02"}});
    EXPECT_FALSE(report.channels[0].drops()->miss_test);
    EXPECT_TRUE(holds(to_text(report), "sequential miss 0.05 of 0.02"));
}

TEST(StoppedRun, OfALineHasNoTests) {
    const audit::AuditReport report =
        audit::sample::report_of({.mode = ledger::Mode::line, .channels = 2, .remarks = rule});
    EXPECT_EQ(report.channels[0].drops(), nullptr);
    EXPECT_TRUE(Json::parse(to_json(report))["channels"][0]["sequential"].is_null());
}

TEST(LineRun, ShowsHowAlikeItsUnitsAre) {
    const audit::AuditReport report =
        audit::sample::report_of({.mode = ledger::Mode::line, .channels = 2});
    ASSERT_TRUE(report.transverse);
    for (const std::string& output : {to_text(report), html::to_html(report)})
        EXPECT_TRUE(holds(output, "Evenness across the units"));
}

TEST(Undecided, SayHowManyDropsAndMinutesMore) {
    const audit::AuditReport report =
        audit::sample::report_of({.drops = 80, .by_cell = false}); // the profile asks for 100
    const Json criteria = Json::parse(to_json(report))["channels"][0]["verdict"]["criteria"];
    int undecided = 0;
    for (const Json& each : criteria) {
        if (each["more_drops"] == 0)
            continue;
        ++undecided;
        EXPECT_NEAR(each["more_minutes"].get<double>(),
                    each["more_drops"].get<double>() * 0.18 / 0.5 / 60.0, 1e-9);
    }
    EXPECT_GT(undecided, 0);
    EXPECT_TRUE(holds(to_text(report), "at this speed"));
    EXPECT_TRUE(holds(html::to_html(report), "at this speed"));
}

TEST(SequentialChart, DrawsNothingOfARunWithoutDrops) {
    const measures::SequentialPath path{*statistics::sequential_plan({0.02, 0.05, 0.05, 0.05}), 9};
    EXPECT_TRUE(pictures::sequential_chart(path, "misses").empty());
}

} // namespace dropledger::report
