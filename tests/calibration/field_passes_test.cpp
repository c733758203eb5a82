#include "calibration/lead/field_passes.hpp"

#include <gtest/gtest.h>

#include <fmt/format.h>

#include <random>

using namespace dropledger;
using namespace dropledger::calibration;

namespace {

struct Driven {
    double speed_mps = 1.0;
    int way = 1; // along the north, or back
    bool across = false;
    int drops = 60;
};

// Constructed: seeds 9 ms late (behind the machine either way), the map 12 mm too far north;
// scatter 3 mm.
std::string table_of(const std::vector<Driven>& passes, int rows = 1) {
    std::mt19937_64 random(3);
    std::normal_distribution<double> scatter(0.0, 3.0);
    std::string text = "time,pass,row,drop,east_m,north_m,target,seen,offset_mm\n";
    double start_s = 1'790'000'000.0;
    for (std::size_t pass = 0; pass < passes.size(); ++pass) {
        const Driven& how = passes[pass];
        for (int row = 1; row <= rows; ++row)
            for (int drop = 0; drop < how.drops; ++drop) {
                const double along = how.way * 0.18 * drop;
                const double offset = 9.0 * how.speed_mps + how.way * 12.0 + scatter(random);
                text += fmt::format("{:.3f},{},{},{},{:.3f},{:.3f},1,1,{:.2f}\n",
                                    start_s + 0.18 * drop / how.speed_mps, pass + 1, row, drop,
                                    how.across ? along : 0.0, how.across ? 0.0 : along, offset);
            }
        start_s += 100.0;
    }
    return text;
}

field::Field field_of(const std::string& text) {
    StringSource source(text);
    auto field = field::read_field({{&source, "field.csv"}}, field::Mapping{});
    if (!field)
        throw std::logic_error(field.error().message());
    return *std::move(field);
}

} // namespace

TEST(FieldPasses, PartTheLagFromWhatStaysOnTheGround) {
    const auto passes = field_passes(field_of(table_of({{1.0, 1}, {1.0, -1}, {2.0, 1}, {2.0, -1}})),
                                     "field.csv", {});
    ASSERT_TRUE(passes) << passes.error().message();
    ASSERT_EQ(passes->runs.size(), 4U);
    EXPECT_NEAR(passes->runs[2].speed_mps, 2.0, 0.01);
    EXPECT_EQ(passes->runs[1].direction, -passes->runs[0].direction);
    const auto found = lead(
        passes->runs,
        {.confidence = Confidence{0.999}, .lead_us = 200'000, .at_mps = {}, .both_ways = true});
    ASSERT_TRUE(found);
    EXPECT_LE(found->lag_us.interval->low, 9000.0);
    EXPECT_GE(found->lag_us.interval->high, 9000.0);
    // the first of the longest passes says which way counts as there
    EXPECT_NEAR(std::abs(found->offset_mm.value), 12.0, 1.5);
    EXPECT_NEAR(static_cast<double>(*found->lead_to_set_us), 209'000.0, 1500.0);
}

TEST(FieldPasses, NeedOneSpeedOnlyWhereTheyRunBothWaysAndRepeat) {
    const auto passes = field_passes(field_of(table_of({{1.5, 1}, {1.5, -1}, {1.5, 1}, {1.5, -1}})),
                                     "field.csv", {});
    ASSERT_TRUE(passes);
    const auto found =
        lead(passes->runs,
             {.confidence = Confidence{0.999}, .lead_us = {}, .at_mps = {}, .both_ways = true});
    ASSERT_TRUE(found) << found.error().message();
    EXPECT_NEAR(found->lag_us.value, 9000.0, 1000.0);
    EXPECT_NE(found->notes.back().find("on trust"), std::string::npos);
    EXPECT_FALSE(lead(passes->runs, {}));
}

TEST(FieldPasses, AreRefusedOneWaySayingWhatCannotBeTold) {
    const auto refused =
        field_passes(field_of(table_of({{1.0, 1}, {2.0, 1}, {3.0, 1}})), "field.csv", {});
    ASSERT_FALSE(refused);
    EXPECT_NE(refused.error().what.find("can't be told"), std::string::npos);
}

TEST(FieldPasses, LeaveOutWhatCrossesAndWhatIsTooShort) {
    const auto passes = field_passes(
        field_of(table_of({{1.0, 1}, {1.0, -1}, {2.0, 1}, {1.5, 1, true}, {1.0, -1, false, 10}})),
        "field.csv", {});
    ASSERT_TRUE(passes);
    EXPECT_EQ(passes->runs.size(), 3U);
    EXPECT_EQ(passes->notes.size(), 3U);
    EXPECT_NE(passes->notes.at(1).find("direction of pass 1"), std::string::npos);
}

TEST(FieldPasses, AskWhichRowAndNeedOffsetsAndTime) {
    const std::string two_rows = table_of({{1.0, 1}, {1.0, -1}}, 2);
    const auto which = field_passes(field_of(two_rows), "field.csv", {});
    ASSERT_FALSE(which);
    EXPECT_NE(which.error().remedy.find("`row`"), std::string::npos);
    EXPECT_TRUE(field_passes(field_of(two_rows), "field.csv", 2));
    EXPECT_FALSE(field_passes(field_of(two_rows), "field.csv", 7));
    EXPECT_FALSE(field_passes(field_of("pass,row,drop,east_m,north_m,target,seen\n1,1,0,0,0,1,1\n"),
                              "field.csv", {}));
}
