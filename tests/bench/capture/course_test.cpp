#include "bench/capture/course.hpp"

#include "bench/capture/formats/change.hpp"
#include "bench/capture/resolution.hpp"
#include "bench/capture/steady_level.hpp"

#include <gtest/gtest.h>

#include <array>

namespace dropledger::capture {
namespace {

TEST(Course, IsLinearBetweenStepsAndStandsBeforeAndAfter) {
    Course course{Encoder{}};
    course.step(100, 50.0);
    course.step(200, 50.0);
    course.step(300, -50.0);
    EXPECT_DOUBLE_EQ(course.position_um(50), 25.0);
    EXPECT_DOUBLE_EQ(course.position_um(150), 75.0);
    EXPECT_DOUBLE_EQ(course.position_um(250), 75.0);
    EXPECT_DOUBLE_EQ(course.position_um(900), 50.0);
    course.forget_before(250);
    EXPECT_DOUBLE_EQ(course.position_um(250), 75.0);
}

TEST(Course, GoesOnForEverAtAStatedSpeed) {
    EXPECT_DOUBLE_EQ(Course{StatedSpeed{250'000.0}}.position_um(4 * ps_per_s), 1e6);
}

// Gray code: forwards 00 10 11 01 00, backwards the other way (facts of the trade, common practice).
TEST(Course, CountsAQuadratureEncoderBothWays) {
    constexpr std::array<std::array<bool, 2>, 5> states{
        {{false, false}, {true, false}, {true, true}, {false, true}, {false, false}}};
    for (std::size_t i = 1; i < states.size(); ++i) {
        const bool a_changed = states[i][0] != states[i - 1][0];
        EXPECT_EQ(quadrature_count(a_changed, states[i][0], states[i][1]), 1) << i;
        EXPECT_EQ(quadrature_count(a_changed, states[i - 1][0], states[i - 1][1]), -1) << i;
    }
}

TEST(SteadyLevel, LeavesOutWhatIsShorterThanItsGlitchAndDatesTheRestFromItsBeginning) {
    SteadyLevel level{10};
    level.take(false, 0);
    EXPECT_FALSE(level.settled(100));
    level.take(true, 100);
    EXPECT_EQ(level.due_ps(), 110);
    EXPECT_FALSE(level.settled(105));
    level.take(false, 105);
    EXPECT_EQ(level.glitches(), 1U);
    level.take(true, 200);
    const auto edge = level.settled(210);
    ASSERT_TRUE(edge);
    EXPECT_EQ(edge->at_ps, 200);
    EXPECT_TRUE(edge->high);
    EXPECT_FALSE(level.settled(300));
}

TEST(Resolution, IsTheGreatestStepOfWhichAllTimesAreMultiples) {
    Resolution resolution;
    resolution.take(1'000);
    EXPECT_EQ(resolution.step_ps(), 0);
    for (const std::int64_t at_ps : {13'000, 13'000, 37'000, 55'000})
        resolution.take(at_ps);
    EXPECT_EQ(resolution.step_ps(), 6'000);
}

} // namespace
} // namespace dropledger::capture
