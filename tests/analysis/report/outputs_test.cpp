#include "tests/analysis/audit/sample.hpp"

#include "analysis/report/html/page.hpp"
#include "analysis/report/json/audit_json.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "analysis/report/text/audit_text.hpp"
#include "analysis/report/words/quantities.hpp"
#include "analysis/report/words/sentences.hpp"
#include "analysis/report/words/wording.hpp"
#include "tests/analysis/audit/sample.hpp"

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include <sstream>

namespace dropledger::report {

namespace {

using ledger::Mode;
using Json = nlohmann::ordered_json;

bool holds(const std::string& text, const std::string& part) {
    return text.find(part) != std::string::npos;
}

class EveryMode : public testing::TestWithParam<Mode> {
protected:
    audit::AuditReport report = audit::sample::report_of({.mode = GetParam(), .channels = 2});
};

INSTANTIATE_TEST_SUITE_P(Reports, EveryMode,
                         testing::Values(Mode::single, Mode::portion, Mode::line),
                         [](const auto& param) {
                             return std::string(ledger::name_of(param.param));
                         });

// Finds an estimate of a group of the report in the JSON of its channel.
Json estimate_in(const Json& channel, const std::string& group, const std::string& key) {
    const Json& spacing = channel["spacing"];
    if (group == "per_spacing" && spacing["per_spacing"].contains(key))
        return spacing["per_spacing"][key];
    const Json found = channel[group == "per_spacing" ? "spacing" : group][key];
    return found.contains("estimate") ? found["estimate"] : found;
}

TEST_P(EveryMode, HasTheSameNumbersInJsonTextAndPage) {
    const Json json = Json::parse(to_json(report));
    const std::string text = to_text(report);
    const std::string page = html::to_html(report);
    int compared = 0;
    for (std::size_t i = 0; i < report.channels.size(); ++i)
        for (const QuantityGroup& group : quantity_groups(report.channels[i]))
            for (const ReportedQuantity& row : group.rows) {
                const Json found = estimate_in(json["channels"][i], group.key, row.key);
                ASSERT_EQ(found.is_null(), !row.estimate) << row.key;
                if (!row.estimate)
                    continue;
                ++compared;
                EXPECT_DOUBLE_EQ(found["value"].get<double>(), row.estimate->value) << row.key;
                const std::string value = value_words(*row.estimate, row.unit);
                EXPECT_TRUE(holds(text, value)) << row.key << " " << value;
                EXPECT_TRUE(holds(page, ">" + pictures::typeset(value) + "<"))
                    << row.key << " " << value;
            }
    EXPECT_GE(compared, 6);
}

TEST_P(EveryMode, PrintsBothIdentitiesWhereThereIsALedger) {
    const std::string text = to_text(report);
    const bool ledger = GetParam() != Mode::line;
    EXPECT_EQ(holds(text, "drops 400 = "), ledger);
    EXPECT_EQ(holds(text, "in entries"), ledger);
    EXPECT_EQ(holds(html::to_html(report), "Both identities hold"), ledger);
}

TEST_P(EveryMode, FitsEightyColumns) {
    std::istringstream lines(to_text(report));
    for (std::string line; std::getline(lines, line);)
        EXPECT_LE(line.size(), 80U) << line;
}

TEST_P(EveryMode, LeavesOutWhatTheModeDoesNotHave) {
    const Json channel = Json::parse(to_json(report))["channels"][0];
    EXPECT_EQ(channel["portion"].is_null(), GetParam() != Mode::portion);
    EXPECT_EQ(channel["line"].is_null(), GetParam() != Mode::line);
    EXPECT_EQ(channel["ledger"]["miss"].is_null(), GetParam() != Mode::single);
    EXPECT_EQ(channel["ledger"]["empty"].is_null(), GetParam() != Mode::portion);
    EXPECT_TRUE(channel["ledger"]["balanced"].get<bool>());
}

TEST_P(EveryMode, SaysTheVerdictFirstAndInWords) {
    const std::string page = html::to_html(report);
    const auto verdict = page.find(outcome_words(report.outcome), page.find("<h1"));
    ASSERT_NE(verdict, std::string::npos);
    EXPECT_LT(verdict, page.find("<h3"));
    EXPECT_FALSE(holds(page, "http:"));
    EXPECT_FALSE(holds(page, "https:"));
}

TEST(Outputs, OfAListOfSpacingsHaveNoLedger) {
    const audit::AuditReport report = audit::sample::report_of_spacings();
    const Json json = Json::parse(to_json(report));
    EXPECT_TRUE(json["channels"][0]["ledger"].is_null());
    EXPECT_EQ(json["source"]["file"], "tape.csv");
    EXPECT_EQ(json["channels"][0]["spacing"]["classes"], Json({1, 3, 1, 0, 0}));
    EXPECT_FALSE(holds(html::to_html(report), "identities"));
}

TEST(Outputs, OfSeveralLogsAreOneObjectWithTheWorstOutcome) {
    const audit::AuditReport one = audit::sample::report_of({});
    audit::AuditReport other = one;
    other.outcome = verdict::Outcome::within;
    const Json json = Json::parse(to_json(std::vector{other, one}));
    EXPECT_EQ(json["audits"].size(), 2U);
    EXPECT_EQ(json["outcome"], verdict::name_of(one.outcome));
}

TEST(Outputs, LetNothingOutOfALogBecomeMarkupOrSteerATerminal) {
    const audit::AuditReport report = audit::sample::report_of(
        {.unit = "<script>alert(1)</script>&\"'", .crop = "\x1B[31mred\xFF"});
    const std::string page = html::to_html(report);
    EXPECT_FALSE(holds(page, "<script>alert"));
    EXPECT_TRUE(holds(page, "&lt;script&gt;alert(1)&lt;/script&gt;&amp;&quot;&#39;"));
    EXPECT_FALSE(holds(page, "\x1B"));
    EXPECT_FALSE(holds(to_text(report), "\x1B"));
    EXPECT_TRUE(Json::accept(to_json(report)));
}

TEST(Outputs, SayThatARunThatWasNotClosedCannotBeWithin) {
    const audit::AuditReport report = audit::sample::report_of({.closed = false});
    EXPECT_NE(report.outcome, verdict::Outcome::within);
    EXPECT_TRUE(holds(html::to_html(report), "not complete, so it can never be within"));
    EXPECT_FALSE(Json::parse(to_json(report))["source"]["complete"].get<bool>());
}

TEST(Outputs, MarkEveryMissAndMultipleOfTheStripWithItsIndex) {
    const audit::AuditReport report = audit::sample::report_of({.drops = 120});
    const std::string page = html::to_html(report);
    for (const measures::Incident& incident : report.channels[0].drops()->trace.incidents())
        EXPECT_TRUE(holds(page, "<title>drop " + std::to_string(incident.index) + ": "))
            << incident.index;
    EXPECT_EQ(report.channels[0].drops()->trace.incidents().size(),
              12U); // 7 misses (5 + 17k), 5 doubles (7 + 23k)
}

} // namespace

} // namespace dropledger::report
