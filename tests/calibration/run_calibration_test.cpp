// Before a run begins: what its log will name, which flight times it gets, which lead is wanted.
#include "calibration/run/run_calibration.hpp"

#include <gtest/gtest.h>

namespace {

using namespace dropledger;
using namespace dropledger::calibration;

Record record(const std::string& id, const std::string& unit) {
    Record one;
    one.id = id;
    one.date = "2026-02-01";
    one.expires = "2026-12-31";
    one.holds_for.unit = unit;
    one.holds_for.gate = 1;
    one.flight_us = ValueWithU{20'500.0, 60.0};
    one.efficiency = statistics::Estimate{0.9, statistics::Interval{0.88, 0.92}, Confidence{0.95},
                                          "constructed"};
    one.lead = LeadValues{{0.0, 10.0}, {0.0, 0.1}, 0.0, 300'000};
    return one;
}

droplog::Header head() {
    droplog::Header one;
    one.run_id = "00000000-0000-4000-8000-000000000001";
    one.started = "2026-03-01T00:00:00Z";
    one.run = {{"mode", "single"}, {"spacing_um", "180000"}, {"speed_um_s", "250000"}};
    one.channels[0] = {{"unit", "U-1"}, {"gate0_place", "above"}, {"gate1_place", "below"}};
    return one;
}

RunChoice chosen_from(std::vector<Record> records) {
    return {.records = std::move(records), .named = {}, .anyway = false, .day = "2026-03-01"};
}

RunChoice named(std::vector<Record> records, std::vector<std::string> ids) {
    RunChoice choice = chosen_from(std::move(records));
    choice.named = std::move(ids);
    return choice;
}

TEST(RunCalibration, TakesFromTheBookWhatSpeaksForTheUnit) {
    const auto found =
        calibration_of_run(head(), chosen_from({record("OTHER", "U-2"), record("MINE", "U-1")}));
    ASSERT_TRUE(found) << found.error().message();
    EXPECT_EQ(found->ids, "MINE");
    ASSERT_EQ(found->falls.size(), 1U);
    EXPECT_EQ(found->falls.front().channel, 0);
    EXPECT_EQ(found->falls.front().gate, 1);
    EXPECT_EQ(found->falls.front().fall_us, 20'500);
    ASSERT_EQ(found->leads.size(), 1U);
    EXPECT_EQ(found->leads.front().id, "MINE");
    EXPECT_EQ(found->leads.front().wanted_us, 300'000);
    EXPECT_FALSE(found->leads.front().in_force_us);
}

TEST(RunCalibration, LeavesAFlightTimeThatTheOperatorStated) {
    droplog::Header stated = head();
    stated.channels[0]["gate1_fall_us"] = "21000";
    const auto found = calibration_of_run(stated, chosen_from({record("MINE", "U-1")}));
    ASSERT_TRUE(found) << found.error().message();
    EXPECT_TRUE(found->falls.empty());
}

TEST(RunCalibration, SaysNothingOfALeadThatIsInForce) {
    droplog::Header set = head();
    set.channels[0]["lead_us"] = "300000";
    const auto found = calibration_of_run(set, chosen_from({record("MINE", "U-1")}));
    ASSERT_TRUE(found) << found.error().message();
    EXPECT_TRUE(found->leads.empty());
    set.channels[0]["lead_us"] = "310000";
    EXPECT_EQ(
        calibration_of_run(set, chosen_from({record("MINE", "U-1")}))->leads.front().in_force_us,
        310'000);
}

TEST(RunCalibration, RefusesANamedRecordOfAnotherUnitUnlessTold) {
    RunChoice foreign = named({record("OTHER", "U-2")}, {"OTHER"});
    EXPECT_FALSE(calibration_of_run(head(), foreign));
    foreign.anyway = true;
    const auto found = calibration_of_run(head(), foreign);
    ASSERT_TRUE(found) << found.error().message();
    EXPECT_EQ(found->ids, "OTHER");
}

TEST(RunCalibration, WritesDownAnIdThatNobodyHoldsAndNamesNoneWhereNoneSpeaks) {
    const auto unknown = calibration_of_run(head(), named({}, {"A", "B"}));
    ASSERT_TRUE(unknown) << unknown.error().message();
    EXPECT_EQ(unknown->ids, "A, B");
    EXPECT_TRUE(unknown->falls.empty());
    const auto none = calibration_of_run(head(), chosen_from({record("OTHER", "U-2")}));
    ASSERT_TRUE(none) << none.error().message();
    EXPECT_EQ(none->ids, "");
    EXPECT_TRUE(none->leads.empty());
}

} // namespace
