// Sensors that see next to nothing, and such that report what they don't see.
#include "analysis/field/audit.hpp"
#include "tests/analysis/field/simulated_field.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <random>

namespace dropledger::field {
namespace {

struct Blindness {
    double from = 0.0; // of the night
    double to = 1.0;
    double sees = 0.0; // of the seeds that fall meanwhile
    Trace trace = Trace::stopped;
};

// All seeds fall; the gate of row 1 is blind for a while.
Field with_blind_gate(const Blindness& blind) {
    Field field = simulate_field({{.miss = 0.003, .efficiency = 0.998}, {}}, {}, 11).field;
    double all = 0.0;
    for (const auto& [key, line] : field.lines)
        all += key.row == 1 ? static_cast<double>(line.size()) : 0.0;
    double at = 0.0;
    std::mt19937 random{5};
    std::uniform_real_distribution<double> chance;
    for (auto& [key, line] : field.lines)
        if (key.row == 1)
            change(line, [&](auto& drops) {
                for (FieldDrop& drop : drops) {
                    const double part = at / all;
                    at += 1.0;
                    if (part >= blind.from && part < blind.to && chance(random) >= blind.sees)
                        drop.seen = 0;
                }
            });
    return field;
}

double missing_share(const Judged& judged_drops) {
    double missing = 0.0;
    double silent = 0.0;
    for (const auto& [key, chances] : judged_drops.silent)
        for (const Chance& one : chances) {
            silent += key.row == 1 ? 1.0 : 0.0;
            missing += key.row == 1 && judged(one) == Judgement::missing ? 1.0 : 0.0;
        }
    return missing / silent;
}

} // namespace

// Once such a gate had 2.4 km of sound row re-sown.
TEST(Judge, CannotTellAGateThatIsAllButBlindFromATubeThatIsBlocked) {
    const Blindness cases[] = {
        {0.0, 1.0, 0.02, Trace::trickled}, {0.0, 0.6, 0.02, Trace::trickled},
        {0.4, 1.0, 0.01, Trace::trickled}, {0.4, 1.0, 0.06, Trace::trickled},
        {0.3, 0.7, 0.02, Trace::trickled}, {0.0, 0.5, 0.0, Trace::from_first}};
    for (const Blindness& blind : cases) {
        SCOPED_TRACE(fmt::format("{} to {}, sees {}", blind.from, blind.to, blind.sees));
        const Field field = with_blind_gate(blind);
        const Judged found = judge_drops(field, {});
        const std::vector<Episode>& episodes = found.rows.at(1).episodes;
        ASSERT_EQ(episodes.size(), 1U);
        EXPECT_EQ(episodes[0].trace, blind.trace);
        EXPECT_EQ(missing_share(found), 0.0);
        const FieldAudit audit = audit_field(field, {});
        EXPECT_EQ(audit.reseed.gaps, 0);
        EXPECT_GT(audit.reseed.undecided_length_m, 100.0);
        ASSERT_FALSE(audit.causes.empty());
        EXPECT_TRUE(names(audit.causes[0], causes::CauseKind::blocked_tube));
        EXPECT_TRUE(names(audit.causes[0], causes::CauseKind::cable));
    }
}

TEST(Judge, StillTakesASuddenSilenceWithASpeckForMissingSeed) {
    Field field = with_blind_gate({.from = 0.4});
    change(field.lines.at({4, 1}), [](auto& drops) { drops[200].seen = 1; });
    const Judged found = judge_drops(field, {});
    ASSERT_EQ(found.rows.at(1).episodes.size(), 1U);
    EXPECT_EQ(found.rows.at(1).episodes[0].trace, Trace::stopped);
    EXPECT_GT(missing_share(found), 0.95);
}

// The efficiency was measured before its windows were struck.
TEST(Judge, LeavesOpenWhetherASensorFarBelowItsRecordOrTheMeterIsToBlame) {
    for (const double sees : {0.35, 0.25, 0.15, 0.08}) {
        SCOPED_TRACE(sees);
        JudgeOptions options;
        options.efficiencies[1] = 0.998;
        const Judged found = judge_drops(with_blind_gate({.sees = sees}), options);
        EXPECT_EQ(found.rows.at(1).efficiency_use, EfficiencyUse::doubted);
        EXPECT_EQ(missing_share(found), 0.0);
        EXPECT_LT(found.rows.at(1).when_silent.low, 0.1);
        EXPECT_GT(found.rows.at(1).when_silent.high, 0.9);
    }
}

namespace {

// The sensor of row 2 reports a seed at every drop from one pass on, whatever falls.
Field with_stuck_sensor(std::int64_t from_pass, std::uint32_t seed) {
    const SimulatedRow usual{.miss = 0.008, .efficiency = 0.999};
    Field field =
        simulate_field({usual, usual, usual, usual}, {.passes = 12, .drops = 600}, seed).field;
    for (auto& [key, line] : field.lines)
        if (key.row == 2 && key.pass >= from_pass)
            change(line, [](auto& drops) {
                for (FieldDrop& drop : drops)
                    drop.seen = 1;
            });
    return field;
}

} // namespace

TEST(Judge, DoesNotTakeASensorThatIsNeverSilentForASoundRow) {
    for (const bool all_night : {true, false}) {
        const FieldAudit audit = audit_field(with_stuck_sensor(all_night ? 0 : 5, 4), {});
        const std::optional<Stuck>& stuck = audit.rows.at(1).judge.stuck;
        ASSERT_TRUE(stuck);
        EXPECT_EQ(stuck->whole_night, all_night);
        EXPECT_GT(stuck->drops, 4000);
        EXPECT_NEAR(stuck->usual_share, 0.009, 0.003);
        const auto cause = std::find_if(audit.causes.begin(), audit.causes.end(),
                                        [](const FieldCause& one) { return one.row == 2; });
        ASSERT_NE(cause, audit.causes.end());
        EXPECT_TRUE(names(*cause, causes::CauseKind::sensor));
        for (const RowReport& row : audit.rows)
            if (row.judge.row != 2) {
                EXPECT_FALSE(row.judge.stuck);
                ASSERT_TRUE(row.judge.neighbours);
                EXPECT_NE(row.judge.neighbours->least_row, 2); // it says nothing of the others
            }
    }
}

TEST(Judge, CallsNoSensorStuckThatIsSilentNowAndThenOrGoesBlind) {
    for (std::uint32_t seed = 1; seed <= 40; ++seed) {
        const SimulatedRow good{.miss = 0.001, .efficiency = 0.9995};
        const SimulatedRow usual{.miss = 0.008};
        const SimulatedRow late{.miss = 0.008, .burst = 0.002, .empty_from_pass = 4};
        const SimulatedField made = simulate_field({good, usual, usual, late}, {}, seed);
        for (const auto& [row, judge] : judge_drops(made.field, {}).rows)
            EXPECT_FALSE(judge.stuck) << "row " << row << ", seed " << seed;
    }
}

} // namespace dropledger::field
