#include "calibration/record/choice.hpp"

#include <gtest/gtest.h>

namespace {

using namespace dropledger;
using namespace dropledger::calibration;

Record record(const std::string& id, const std::string& unit,
              const std::string& date = "2026-02-01") {
    Record one;
    one.id = id;
    one.date = date;
    one.expires = "2026-12-31";
    one.holds_for.unit = unit;
    one.efficiency = statistics::Estimate{0.9, statistics::Interval{0.88, 0.92}, Confidence{0.95},
                                          "constructed"};
    return one;
}

GateOfRun wanted() {
    GateOfRun gate;
    gate.bench = "bench-1";
    gate.crop = "chicory";
    gate.unit = "U-1";
    gate.day = "2026-03-01";
    return gate;
}

std::string ids(const std::vector<Record>& records) {
    std::string all;
    for (const Record& one : records)
        all += one.id + " ";
    return all;
}

struct Case {
    const char* what;
    std::vector<Record> records;
    GateOfRun wanted;
    const char* chosen;
};

Record changed(Record one, void (*change)(Record&)) {
    change(one);
    return one;
}

GateOfRun changed(GateOfRun one, void (*change)(GateOfRun&)) {
    change(one);
    return one;
}

// Gates of two channels of one bench: each unit gets the record that names it.
TEST(CalibrationChoice, TakesTheUnitsOwnRecordOfABenchsGateBeforeAnothers) {
    std::vector<Record> both{record("A", "U-1"), record("B", "U-2", "2026-02-15")};
    for (Record& one : both)
        one.holds_for.bench = "bench-1";
    EXPECT_EQ(ids(chosen(both, wanted())), "A ");
    EXPECT_EQ(ids(chosen({both[1]}, wanted())), "B ");
}

TEST(CalibrationChoice, FollowsUnitGateDayAndName) {
    const std::vector<Case> cases{
        {"none", {}, wanted(), ""},
        {"the unit's own", {record("A", "U-1")}, wanted(), "A "},
        {"another unit's", {record("A", "U-2")}, wanted(), ""},
        {"any unit", {record("A", "")}, wanted(), "A "},
        {"of the bench's own gate, whichever unit hung on it",
         {changed(record("A", "U-2"), [](Record& one) { one.holds_for.bench = "bench-1"; })},
         wanted(),
         "A "},
        {"of a unit's own gate only for that unit",
         {changed(record("A", "U-2"),
                  [](Record& one) {
                      one.holds_for.bench = "bench-1";
                      one.holds_for.gate = 0;
                  })},
         changed(wanted(), [](GateOfRun& gate) { gate.gate = 0; }),
         ""},
        {"the particular before the general, though older",
         {record("GENERAL", "", "2026-02-20"), record("OWN", "U-1", "2026-02-01")},
         wanted(),
         "OWN "},
        {"the newer of two",
         {record("OLD", "U-1", "2026-01-01"), record("NEW", "U-1", "2026-02-01")},
         wanted(),
         "NEW "},
        {"in whatever order",
         {record("NEW", "U-1", "2026-02-01"), record("OLD", "U-1", "2026-01-01")},
         wanted(),
         "NEW "},
        {"one made after the run", {record("LATER", "U-1", "2026-03-02")}, wanted(), ""},
        {"one made on its day", {record("SAME", "U-1", "2026-03-01")}, wanted(), "SAME "},
        {"an expired one, where nothing else is there",
         {changed(record("A", "U-1"), [](Record& r) { r.expires = "2026-02-28"; })},
         wanted(),
         "A "},
        {"a valid general one before an expired particular one",
         {changed(record("OWN", "U-1"), [](Record& r) { r.expires = "2026-02-28"; }),
          record("GENERAL", "")},
         wanted(),
         "GENERAL "},
        {"valid on its last day",
         {changed(record("A", "U-1"), [](Record& r) { r.expires = "2026-03-01"; }),
          record("B", "")},
         wanted(),
         "A "},
        {"another gate's",
         {changed(record("A", "U-1"), [](Record& r) { r.holds_for.gate = 0; })},
         wanted(),
         ""},
        {"another crop's",
         {changed(record("A", "U-1"), [](Record& r) { r.holds_for.crop = "red beet"; })},
         wanted(),
         ""},
        {"a crop's, where the run does not say its crop",
         {changed(record("A", "U-1"), [](Record& r) { r.holds_for.crop = "chicory"; })},
         changed(wanted(), [](GateOfRun& g) { g.crop = ""; }),
         ""},
        {"another bench's",
         {changed(record("A", "U-1"), [](Record& r) { r.holds_for.bench = "bench-2"; })},
         wanted(),
         ""},
        {"only what the log names",
         {record("A", "U-1"), record("B", "U-1")},
         changed(wanted(), [](GateOfRun& g) { g.named = "A"; }),
         "A "},
        {"nothing where the log names one that is not there",
         {record("A", "U-1")},
         changed(wanted(), [](GateOfRun& g) { g.named = "C"; }),
         ""},
        {"one of several named",
         {record("A", "U-1"), record("B", "U-2")},
         changed(wanted(), [](GateOfRun& g) { g.named = "B, A"; }),
         "A "},
        {"nothing where the run has no day",
         {record("A", "U-1")},
         changed(wanted(), [](GateOfRun& g) { g.day = ""; }),
         ""},
    };
    for (const Case& one : cases)
        EXPECT_EQ(ids(chosen(one.records, one.wanted)), one.chosen) << one.what;
}

TEST(CalibrationChoice, TakesEachValueFromTheRecordThatHasIt) {
    Record flight = record("FLIGHT", "U-1", "2026-02-10");
    flight.efficiency.reset();
    flight.flight_us = ValueWithU{21000.0, 40.0};
    Record old = record("OLD", "U-1", "2026-01-10");
    old.flight_us = ValueWithU{19000.0, 40.0};
    const auto found = chosen({flight, old}, wanted());
    ASSERT_EQ(ids(found), "OLD FLIGHT ");
    EXPECT_TRUE(found[0].efficiency);
    EXPECT_FALSE(found[0].flight_us); // the newer record's goes
    EXPECT_DOUBLE_EQ(found[1].flight_us->value, 21000.0);
}

TEST(CalibrationChoice, FindsTheNewestLeadOfEitherGate) {
    Record first = record("FIRST", "U-1", "2026-01-10");
    first.lead = LeadValues{};
    Record second = record("SECOND", "U-1", "2026-02-10");
    second.lead = LeadValues{};
    second.holds_for.gate = 0;
    ASSERT_NE(chosen_lead({first, second}, wanted()), nullptr);
    EXPECT_EQ(chosen_lead({first, second}, wanted())->id, "SECOND");
    second.expires = "2026-02-20"; // a lead that is no longer valid is not given at all
    EXPECT_EQ(chosen_lead({first, second}, wanted())->id, "FIRST");
    EXPECT_EQ(chosen_lead({second}, wanted()), nullptr);
    EXPECT_EQ(chosen_lead({record("NONE", "U-1")}, wanted()), nullptr);
}

droplog::Header header_of_two_units() {
    droplog::Header header;
    header.started = "2026-03-01T08:00:00Z";
    header.run = {{"mode", "single"}, {"spacing_um", "180000"}, {"bench", "bench-1"}};
    for (const int channel : {0, 1})
        header.channels[channel] = {{"unit", channel == 0 ? "U-1" : "U-2"},
                                    {"gate1_place", "below"},
                                    {"gate1_fall_us", "20000"}};
    return header;
}

TEST(CalibrationChoice, GivesEachChannelItsOwnAndSaysWhichHasNone) {
    const droplog::Header header = header_of_two_units();
    auto setup = ledger::run_setup(header, {});
    ASSERT_TRUE(setup);
    Record own = record("OWN", "U-1");
    own.flight_us = ValueWithU{21500.0, 30.0};
    const auto found = choosing_from({own})(header, *setup);
    ASSERT_TRUE(found) << found.error().message();
    EXPECT_EQ(found->id, "OWN");
    ASSERT_EQ(found->gates.size(), 1U);
    EXPECT_TRUE(found->gates.at({0, 1}).judges);
    EXPECT_EQ(setup->channels.at(0).gates.front().fall_us, 21500);
    EXPECT_EQ(setup->channels.at(1).gates.front().fall_us, 20000);
    EXPECT_NE(found->notes.back().find("no calibration for gate 1 of unit U-2"), std::string::npos)
        << found->notes.back();
}

TEST(CalibrationChoice, AGeneralRecordDoesNotReachAChannelThatHasItsOwn) {
    const droplog::Header header = header_of_two_units();
    auto setup = ledger::run_setup(header, {});
    ASSERT_TRUE(setup);
    Record general = record("GENERAL", "", "2026-02-20");
    general.efficiency->value = 0.5;
    general.efficiency->interval = statistics::Interval{0.4, 0.6};
    const auto found = choosing_from({general, record("OWN", "U-1")})(header, *setup);
    ASSERT_TRUE(found) << found.error().message();
    EXPECT_EQ(found->id, "OWN, GENERAL");
    EXPECT_EQ(found->gates.at({0, 1}).id, "OWN");
    EXPECT_DOUBLE_EQ(found->gates.at({0, 1}).efficiency->value, 0.9);
    EXPECT_EQ(found->gates.at({1, 1}).id, "GENERAL");
    EXPECT_DOUBLE_EQ(found->gates.at({1, 1}).efficiency->value, 0.5);
}

} // namespace
