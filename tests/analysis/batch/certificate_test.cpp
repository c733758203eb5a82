#include "analysis/batch/certificate/certificate.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::batch;

namespace {

constexpr droplog::PrivateKey key{1, 2, 3};

Certificate sample() {
    Certificate certificate;
    certificate.id = "CERT-1";
    certificate.issued = "2026-02-01T10:00:00Z";
    certificate.valid_until = "2031-01-31";
    certificate.batch.id = "B-1";
    certificate.batch.opened = "2026-01-04T08:00:00Z";
    certificate.batch.size = 280;
    certificate.batch.choice.seed = 18446744073709551615U;
    certificate.batch.chosen = {"U-1"};
    certificate.batch.history = {{"B-0", "ab"}};
    certificate.batch.resubmitted = EarlierBatch{"B-00", "cd"};
    certificate.profile.limits = {{measures::Quantity::miss_index, 0.05},
                                  {measures::Quantity::quality_of_feed_index, 0.9},
                                  {measures::Quantity::offset_mm, 7.5}};
    certificate.plan.aql_percent = 1.0;
    certificate.plan.risks = {{0.01, 0.9}};
    certificate.statistics.pooled_miss =
        statistics::Estimate{0.02, statistics::Interval{0.01, 0.03}, Confidence{0.95}, "method"};
    CertifiedRun& run = certificate.runs.emplace_back();
    run.unit = "U-\xC3\xB6";
    run.calibrations = {"CAL"};
    run.boots = {{"7F", 12, 900}};
    run.run_number = 17;
    run.taken_out = TakenOut{VoidCause::gate_fault, "dust", "2026-01-05T08:00:00Z"};
    certificate.calibrations.push_back(
        {"CAL",
         "cal.toml",
         "ff",
         "2027-01-01",
         "gate 1",
         {std::nullopt, "two gates", RestsOn::logs, "3 seeds", {"a.droplog"}}});
    run.limits = {
        {{measures::Quantity::miss_index, 0.05}, std::nullopt, verdict::Outcome::undecided}};
    certificate.plan.samples = DoublePlan{20, 0, 2, 20, 2};
    certificate.plan.measured = verdict::Limit{measures::Quantity::miss_index, 0.05};
    certificate.plan.k = 1.5;
    certificate.plan.named.producer = RiskPoint{0.01, 0.95};
    certificate.decision.pooled = {{"U-1", {"a"}, run.limits, verdict::Outcome::within}};
    certificate.decision.measured =
        MeasuredSample{{{"U-1", 0.5}}, 0.5, 0.1, 0.6, std::nullopt, {"U-2"}, true};
    certificate.batch.pooled_runs = 3;
    certificate.batch.serial_ranges = {"U-1 to U-4"};
    certificate.report.client = "A. Buyer";
    certificate.report.deviations = {"none"};
    certificate.replaces = {
        {"B-1/old", "aa", RevocationCause::wrong_report, "client", "2026-01-05T08:00:00Z"}};
    certificate.conditions = {{run.conditions, 1}};
    certificate.keys = {{"aa", 3, 4}};
    certificate.missing_runs = {{"aa", 5, 6}};
    certificate.remarks = {"RESUBMITTED"};
    return certificate;
}

std::string signed_text() {
    return *to_text(*signed_with(key, sample()));
}

} // namespace

TEST(Certificate, ReadsWhatItWrote) {
    const std::string text = signed_text();
    const auto again = parse_certificate(text, "c.json");
    ASSERT_TRUE(again);
    EXPECT_EQ(*to_text(*again), text);
    EXPECT_TRUE(is_canonical(text));
    EXPECT_TRUE(signature_holds(text));
    EXPECT_EQ(again->runs.at(0).calibrations.at(0), "CAL");
    EXPECT_EQ(again->batch.choice.seed, 18446744073709551615U);
    EXPECT_EQ(again->public_key, droplog::to_hex(droplog::public_key_of(key)));
}

TEST(Certificate, WritesItsLimitsAsWordsAndReadsThemBack) {
    const std::string text = signed_text();
    EXPECT_NE(text.find(R"("limits":["miss_index at most 0.05",)"
                        R"("quality_of_feed_index at least 0.9",)"
                        R"("offset_mm in magnitude at most 7.5"])"),
              std::string::npos);
    EXPECT_EQ(parse_certificate(text, "c")->profile.limits, sample().profile.limits);
}

TEST(Certificate, RefusesWordsOutsideTheirSets) {
    const auto why = [](const std::string& from, const std::string& to) {
        std::string text = signed_text();
        const std::size_t at = text.find(from);
        EXPECT_NE(at, std::string::npos) << from;
        return parse_certificate(text.replace(at, from.size(), to), "c").error().what;
    };
    const auto says = [](const std::string& what, const char* words) {
        return what.find(words) != std::string::npos;
    };
    EXPECT_TRUE(says(why("miss_index at most 0.05", "miss_index at least 0.05"), "no limit is"));
    EXPECT_TRUE(says(why("miss_index at most 0.05", "miss index at most 0.05"), "no limit is"));
    EXPECT_TRUE(says(why("miss_index at most 0.05", "miss_index at most 5 %"), "no limit is"));
    EXPECT_TRUE(says(why(R"("mode":"single")", R"("mode":"double")"), "unknown mode 'double'"));
    EXPECT_TRUE(says(why(R"("kind":"table")", R"("kind":"chair")"), "unknown kind 'chair'"));
    EXPECT_TRUE(
        says(why(R"("severity":"")", R"("severity":"severe")"), "unknown severity 'severe'"));
    EXPECT_TRUE(
        says(why(R"("outcome":"undecided")", R"("outcome":"fine")"), "unknown outcome 'fine'"));
}

TEST(Certificate, HoldsInNoByteButItsOwn) {
    const std::string text = signed_text();
    for (std::size_t i = 0; i < text.size(); ++i)
        for (const int bit : {0x01, 0x20}) {
            std::string changed = text;
            changed[i] = static_cast<char>(changed[i] ^ bit);
            EXPECT_FALSE(is_canonical(changed) && signature_holds(changed)) << i;
        }
    EXPECT_FALSE(is_canonical(text + "\n"));
    EXPECT_FALSE(is_canonical(" " + text));
}

TEST(Certificate, SaysWhyATextIsNone) {
    EXPECT_NE(parse_certificate("{", "c").error().what.find("not JSON"), std::string::npos);
    EXPECT_NE(parse_certificate("{\"schema\":\"other\"}", "c").error().what.find("version"),
              std::string::npos);
    EXPECT_NE(parse_certificate("{\"schema\":\"dropledger/certificate/1\"}", "c")
                  .error()
                  .what.find("of the first version"),
              std::string::npos);
    EXPECT_NE(
        parse_certificate("{\"schema\":\"dropledger/certificate/2\"}", "c").error().what.find("id"),
        std::string::npos);
}
