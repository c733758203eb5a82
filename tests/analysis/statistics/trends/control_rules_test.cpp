#include "analysis/statistics/trends/control_rules.hpp"

#include <gtest/gtest.h>

#include <ostream>

using namespace dropledger::statistics;

namespace {

struct Case {
    std::string name;
    std::vector<double> z;
    std::vector<ControlSignal> expected; // rule, first, last; the sentence is not compared
};

void PrintTo(const Case& c, std::ostream* out) {
    *out << c.name;
}

using enum ControlRule;

// Constructed: for each rule one sequence that just signals and its neighbours that just don't.
std::vector<Case> cases() {
    return {
        {"nothing", {}, {}},
        {"quiet", {0.5, -0.4, 0.9, 0.2, -1.1, 0.3}, {}},
        {"one_beyond_three", {0.1, 3.01, -0.2}, {{beyond_three_sigma, 1, 1, ""}}},
        {"exactly_three_is_not_beyond", {0.1, 3.0, -0.2}, {}},
        {"one_below_three", {0.1, -0.2, -3.5}, {{beyond_three_sigma, 2, 2, ""}}},
        {"two_of_three_above", {0.0, 2.1, 0.5, 2.2, -0.1}, {{two_of_three, 1, 3, ""}}},
        {"two_of_four_is_not_two_of_three", {0.0, 2.1, 0.5, 0.4, 2.2}, {}},
        {"two_of_three_on_two_sides", {0.0, 2.1, 0.5, -2.2, 0.1}, {}},
        {"four_of_five_below", {0.2, -1.1, -1.2, 0.3, -1.3, -1.4, 0.6}, {{four_of_five, 1, 5, ""}}},
        {"three_of_five", {0.2, -1.1, -1.2, 0.3, -1.3, 0.4, 0.6}, {}},
        {"four_of_six", {0.2, -1.1, -1.2, 0.3, -1.3, 0.4, -1.6}, {}},
        {"eight_above",
         {-0.1, 0.2, 0.5, 0.1, 0.6, 0.3, 0.4, 0.2, 0.5, -0.1},
         {{eight_on_one_side, 1, 8, ""}}},
        {"seven_above", {-0.1, 0.2, 0.5, 0.1, 0.6, 0.3, 0.4, 0.2, -0.5, -0.1}, {}},
        {"the_centre_is_on_neither_side",
         {-0.1, 0.2, 0.5, 0.1, 0.6, 0.0, 0.3, 0.4, 0.2, 0.5, -0.1},
         {}},
        {"six_rising", {0.3, -0.8, -0.5, -0.2, 0.1, 0.4, 0.7, 0.6}, {{six_in_a_trend, 1, 6, ""}}},
        {"five_rising", {0.3, -0.8, -0.5, -0.2, 0.1, 0.4, 0.3, 0.6}, {}},
        {"a_pause_ends_a_trend", {-0.8, -0.5, -0.2, -0.2, 0.1, 0.4, 0.7, 0.6}, {}},
        {"seven_falling", {0.8, 0.6, 0.4, 0.2, -0.1, -0.3, -0.5}, {{six_in_a_trend, 0, 6, ""}}},
        {"a_trend_may_follow_a_turn",
         {0.5, 0.1, -0.6, -0.4, -0.2, 0.2, 0.4, 0.6},
         {{six_in_a_trend, 2, 7, ""}}},
        {"fourteen_alternating",
         {0.1, 0.2, 0.5, -0.2, 0.4, -0.1, 0.3, -0.5, 0.2, -0.3, 0.6, -0.2, 0.1, -0.4, 0.3, 0.4},
         {{fourteen_alternating, 1, 14, ""}}},
        {"thirteen_alternating",
         {0.5, -0.2, 0.4, -0.1, 0.3, -0.5, 0.2, -0.3, 0.6, -0.2, 0.1, -0.4, 0.3, 0.4},
         {}},
        {"equal_neighbours_end_an_alternation",
         {0.5, -0.2, 0.4, -0.1, 0.3, -0.5, 0.2, 0.2, -0.3, 0.6, -0.2, 0.1, -0.4, 0.3},
         {}},
        {"overlapping_windows_are_one_signal",
         {0.0, 2.1, 2.2, 0.5, 2.3, -0.2},
         {{two_of_three, 1, 4, ""}}},
        {"several_rules_in_order",
         {3.5, 2.5, -0.1},
         {{beyond_three_sigma, 0, 0, ""}, {two_of_three, 0, 1, ""}}},
    };
}

class ControlRules : public testing::TestWithParam<Case> {};

} // namespace

TEST_P(ControlRules, FindTheStretchAndNothingElse) {
    const auto found = control_signals(GetParam().z);
    ASSERT_EQ(found.size(), GetParam().expected.size());
    for (std::size_t i = 0; i < found.size(); ++i) {
        EXPECT_EQ(found[i].rule, GetParam().expected[i].rule) << rule_name(found[i].rule);
        EXPECT_EQ(found[i].first, GetParam().expected[i].first);
        EXPECT_EQ(found[i].last, GetParam().expected[i].last);
        EXPECT_FALSE(found[i].sentence.empty());
    }
}

INSTANTIATE_TEST_SUITE_P(Sequences, ControlRules, testing::ValuesIn(cases()),
                         [](const auto& row) { return row.param.name; });

TEST(ControlSignals, AreTheSameUpsideDown) {
    for (const Case& c : cases()) {
        std::vector<double> mirrored;
        for (const double z : c.z)
            mirrored.push_back(-z);
        const auto up = control_signals(c.z);
        const auto down = control_signals(mirrored);
        ASSERT_EQ(up.size(), down.size()) << c.name;
        for (std::size_t i = 0; i < up.size(); ++i) {
            EXPECT_EQ(up[i].rule, down[i].rule) << c.name;
            EXPECT_EQ(up[i].last, down[i].last) << c.name;
        }
    }
}

TEST(ControlSignals, SayInWordsWhereAndWhat) {
    EXPECT_EQ(control_signals(std::vector<double>{0.0, -3.2})[0].sentence,
              "Value 2 lies more than 3 standard deviations below the centre.");
    EXPECT_EQ(control_signals(std::vector<double>{-1.0, 0.5, -0.1, 0.2, 2.1, 2.2})[0].sentence,
              "Values 5 to 6: two of three in a row more than 2 standard deviations above the "
              "centre.");
    EXPECT_EQ(rule_name(ControlRule::wide_moving_range), "moving range beyond its limit");
}
