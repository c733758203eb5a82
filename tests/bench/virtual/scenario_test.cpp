#include "a_scenario.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>

namespace dropledger::bench_virtual {
namespace {

TEST(Scenario, EveryFileOfTheFixturesIsReadable) {
    int files = 0;
    for (const auto& entry :
         std::filesystem::directory_iterator(DROPLEDGER_FIXTURES "/scenarios")) {
        const auto scenario = read_scenario(entry.path().string());
        EXPECT_TRUE(scenario) << scenario.error().message();
        ++files;
    }
    EXPECT_GE(files, 14);
}

TEST(Scenario, ChannelsInheritFromTheCommonUnitAndOverride) {
    const Scenario scenario =
        scenario_of(std::string(single_toml) +
                    "[[channel]]\nunit = \"T-2\"\nfill = 0.5\n[channel.gate1]\ndetection = 0.5\n");
    ASSERT_EQ(scenario.channels.size(), 2U);
    EXPECT_EQ(scenario.channels[0].fill, 0.9);
    EXPECT_EQ(scenario.channels[1].fill, 0.5);
    EXPECT_EQ(scenario.channels[1].cells, 24);
    EXPECT_EQ(scenario.channels[1].row, 2);
    EXPECT_EQ(scenario.channels[1].gates[1]->detection, 0.5);
    EXPECT_EQ(scenario.channels[1].gates[1]->height_mm, 50.0);
}

struct Refusal {
    const char* name;
    const char* from;
    const char* to;
    const char* where;
    const char* what;
    const char* remedy;
};

class BadScenario : public testing::TestWithParam<Refusal> {};

TEST_P(BadScenario, IsRefusedWithLineKeyAndWhatWasExpected) {
    const auto& row = GetParam();
    const auto scenario = parse_scenario(with(single_toml, row.from, row.to), "bad.toml");
    ASSERT_FALSE(scenario);
    EXPECT_EQ(scenario.error().where, row.where);
    EXPECT_NE(scenario.error().what.find(row.what), std::string::npos) << scenario.error().what;
    EXPECT_NE(scenario.error().remedy.find(row.remedy), std::string::npos)
        << scenario.error().remedy;
    EXPECT_EQ(exit_status(scenario.error().kind), 65);
}

INSTANTIATE_TEST_SUITE_P(
    Rows, BadScenario,
    testing::Values(Refusal{"OutOfRange", "fill = 0.9", "fill = 1.4", "bad.toml:18",
                            "key fill in [unit] is 1.4", "a number from 0 to 1"},
                    Refusal{"NotANumber", "fill = 0.9", "fill = \"much\"", "bad.toml:18",
                            "fill in [unit] is \"much\"", "a number"},
                    Refusal{"NaN", "fill = 0.9", "fill = nan", "bad.toml:18",
                            "fill in [unit] is nan", "a number from 0 to 1"},
                    Refusal{"Unknown", "fill = 0.9", "filling = 0.9", "bad.toml:18",
                            "key filling in [unit] is unknown", "fill_loss_per_mps"},
                    Refusal{"MissingSeed", "seed = 7\n", "", "bad.toml:1",
                            "key seed is missing in the file", "add it"},
                    Refusal{"MissingSpacing", "spacing_mm = 180\n", "", "bad.toml:4",
                            "key spacing_mm is missing in [bench]", "add it"},
                    Refusal{"Fraction", "cells = 24", "cells = 24.5", "bad.toml:17",
                            "cells in [unit] is 24.5", "a whole number"},
                    Refusal{"Mode", "\"single\"", "\"double\"", "bad.toml:6",
                            "mode in [bench] is \"double\"", "single, portion or line"},
                    Refusal{"Place", "\"below\"", "\"beside\"", "bad.toml:25",
                            "place in [gate1] is \"beside\"", "above or below"},
                    Refusal{"NoUnit", "unit = \"T-1\"\n", "", "bad.toml:29",
                            "key unit in [[channel]] is missing", "serial number"},
                    Refusal{"NoChannel", "[[channel]]\nunit = \"T-1\"\n", "", "bad.toml:1",
                            "key channel in the file is missing", "1 to 16"},
                    Refusal{"CountInSingle", "spacing_mm = 180", "spacing_mm = 180\ncount = 3",
                            "bad.toml:8", "key count in [bench] is unknown", "expected one of"},
                    Refusal{"Terminal", "terminal_mps = 3.8", "terminal_mps = 0.5", "bad.toml:14",
                            "terminal_mps", "0 (no air drag)"},
                    Refusal{"GateTooHigh", "height_mm = 50", "height_mm = 500", "bad.toml:24",
                            "gate1", "no higher than valve_height_mm"},
                    Refusal{"Syntax", "fill = 0.9", "fill == 0.9", "bad.toml:18",
                            "could not determine value type", "correct the TOML there"},
                    Refusal{"WornCell", "[unit.gate0]",
                            "[[unit.worn_cell]]\ncell = 24\nfill = 0\n[unit.gate0]", "bad.toml:21",
                            "cell in [[worn_cell]] is 24", "a whole number from 0 to 23"}),
    [](const auto& row) { return std::string(row.param.name); });

TEST(Scenario, AMissingFileIsAnInputErrorThatNamesIt) {
    const auto scenario = read_scenario("/nowhere/at-all.toml");
    ASSERT_FALSE(scenario);
    EXPECT_EQ(scenario.error().where, "/nowhere/at-all.toml");
}

std::string value_of(const std::vector<Setting>& settings, std::int64_t channel,
                     const std::string& key) {
    const auto found = std::find_if(settings.begin(), settings.end(), [&](const Setting& setting) {
        return setting.channel == channel && setting.key == key;
    });
    return found == settings.end() ? "(none)" : found->value;
}

TEST(SuggestedSettings, CarryEverythingAnAuditNeeds) {
    const auto settings = suggested_settings(single_scenario());
    EXPECT_EQ(value_of(settings, -1, "mode"), "single");
    EXPECT_EQ(value_of(settings, -1, "spacing_um"), "180000");
    EXPECT_EQ(value_of(settings, -1, "speed_um_s"), "250000");
    EXPECT_EQ(value_of(settings, -1, "thousand_seed_mass_mg"), "(none)");
    EXPECT_EQ(value_of(settings, 0, "unit"), "T-1");
    EXPECT_EQ(value_of(settings, 0, "cells"), "24");
    EXPECT_EQ(value_of(settings, 0, "gate0_place"), "above");
    EXPECT_EQ(value_of(settings, 0, "gate1_place"), "below");
    EXPECT_EQ(value_of(settings, 0, "gate1_dead_us"), "100");
}

// [constructed] without air: sqrt(2h/g) from 400 mm is 285617 µs (external checks 12a); the lag of
// 15 ms comes on top.
TEST(SuggestedSettings, LeadIsLagPlusFreeFall) {
    const auto settings = suggested_settings(
        scenario_of(with(single_toml, "terminal_mps = 3.8", "terminal_mps = 0")));
    EXPECT_EQ(value_of(settings, 0, "lead_us"), "300617");
    // the gate at 50 mm over ground: sqrt(0.8/g) - sqrt(0.7/g) = 285617.2 - 267170.5 µs
    EXPECT_EQ(value_of(settings, 0, "gate1_fall_us"), "18447");
}

TEST(SuggestedSettings, GiveTheRateInLineMode) {
    const auto settings = suggested_settings(line_scenario("1.0"));
    EXPECT_EQ(value_of(settings, -1, "rate_per_m_milli"), "30000");
    EXPECT_EQ(value_of(settings, -1, "spacing_um"), "(none)");
}

} // namespace
} // namespace dropledger::bench_virtual
