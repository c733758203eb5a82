#include "analysis/audit/audit.hpp"
#include "analysis/report/words/sensor_sentences.hpp"
#include "calibration/record/record.hpp"

#include "calibration/record/applied.hpp"

#include "analysis/audit/correct.hpp"

#include "bench/virtual/run_log.hpp"
#include "tests/bench/virtual/a_scenario.hpp"

#include "analysis/base/readers/open_string.hpp"
#include "analysis/statistics/shares/proportion.hpp"

#include <gtest/gtest.h>

#include <algorithm>

using namespace dropledger;
using namespace dropledger::calibration;

namespace {

constexpr Confidence usual{0.95};

Record a_record() {
    Record record;
    record.id = "CAL-1";
    record.date = "2026-01-02";
    record.expires = "2026-12-31";
    record.holds_for = {
        .bench = "bench-t", .unit = "T-1", .crop = "chicory", .gate = 1, .seed_mm = {}};
    record.efficiency = statistics::share_estimate(1400, 2000, 1.0, usual);
    return record;
}

std::string simulate_half_blind() {
    using namespace bench_virtual;
    const std::string healthy =
        with(with(single_toml, "fill = 0.9", "fill = 0.99"), "doubles = 0.05", "doubles = 0.0");
    Scenario scenario = scenario_of(with(healthy, "detection = 0.95", "detection = 0.7"));
    scenario.drops = 1500;
    std::string bytes;
    LogSinks sinks;
    sinks.line = [&](std::string_view line) { bytes.append(line); };
    simulate_log(scenario, sinks);
    return bytes;
}

// A healthy meter (1 % empty cells) over a gate that overlooks 30 % of the seeds.
const std::string& half_blind_log() {
    static const std::string bytes = simulate_half_blind();
    return bytes;
}

audit::AuditOptions options_with(const Record* record, bool anyway = false) {
    audit::AuditOptions options;
    options.file = "half-blind.droplog";
    options.choose_profile = [](const droplog::Header&,
                                ledger::Mode) -> Result<audit::ProfileChoice> {
        auto profile = verdict::parse_profile(
            "name = \"t\"\nmode = \"single\"\nleast_drops = 250\n[limits]\n"
            "miss_index = 0.05\nmultiples_index = 0.05\nquality_of_feed_index = 0.90\n",
            "t.toml");
        if (!profile)
            return profile.error();
        return audit::ProfileChoice{*profile, ""};
    };
    if (record != nullptr)
        options.calibrate = applying({*record}, {.anyway = anyway, .today = "2026-02-01"});
    return options;
}

} // namespace

TEST(CalibrationRecord, ComesBackFromItsFileAsItWas) {
    Record record = a_record();
    record.flight_us = ValueWithU{101234.5, 120.25};
    record.lead = LeadValues{{12000.0, 80.0}, {3.0, 0.2}, -4.5, 32000};
    record.holds_for.seed_mm = statistics::Interval{1.2, 2.0};
    record.inputs = {{"a.droplog", "00ff"}};
    record.classifier = Classifier{{{1, 0.9, 7.0, 0.1, -1.0, 0.2}, {0, 0.1, 5.0, 0.3, -2.0, 0.4}}};
    const auto back = parse_record(to_toml(record), "r.toml");
    ASSERT_TRUE(back) << back.error().message();
    EXPECT_EQ(to_toml(*back), to_toml(record));
    EXPECT_EQ(back->holds_for.unit, "T-1");
    EXPECT_EQ(back->efficiency->interval->low, record.efficiency->interval->low);
    EXPECT_EQ(back->lead->lead_to_set_us, 32000);
    ASSERT_EQ(back->classifier->classes.size(), 2U);
    EXPECT_EQ(back->classifier->classes[1].depth_sd, 0.4);
    EXPECT_EQ(back->inputs.front().sha256, "00ff");
}

TEST(CalibrationRecord, KeepsHowItsEfficiencyWasFoundAndTheAuditRepeatsIt) {
    Record record = a_record();
    record.efficiency_source =
        EfficiencySource{FoundBy::two_gates, "The gates overlook seeds independently.", {}};
    const auto back = parse_record(to_toml(record), "r.toml");
    ASSERT_TRUE(back) << back.error().message();
    ASSERT_TRUE(back->efficiency_source);
    EXPECT_EQ(back->efficiency_source->found_by, FoundBy::two_gates);
    EXPECT_EQ(back->efficiency_source->assumption, record.efficiency_source->assumption);
    EXPECT_EQ(joined(a_record(), *back)->efficiency_source->found_by, FoundBy::two_gates);

    const auto words_of = [](const Record& used) {
        const auto found = audit::audit_log(open_string(half_blind_log()), options_with(&used));
        std::string all;
        for (const std::string& sentence : report::sensor_sentences(found->channels.front()))
            all += sentence + " ";
        return all;
    };
    EXPECT_NE(words_of(*back).find("found by two gates. The gates overlook seeds independently."),
              std::string::npos);
    EXPECT_NE(words_of(a_record()).find("does not say how"), std::string::npos);
    std::string wrong = to_toml(record);
    wrong.replace(wrong.find("two gates"), 9, "guessing!");
    EXPECT_FALSE(parse_record(wrong, "r.toml"));
}

// Whoever reads the record works the same efficiency out again, whichever way it was found.
TEST(CalibrationRecord, KeepsTheFiguresThatItsEfficiencyFollowsFrom) {
    struct Case {
        FoundBy found_by;
        Figures figures;
    };
    for (const Case& one : {Case{FoundBy::two_gates, TwoGateCount{{990, 1000, 995}, 5.0}},
                            Case{FoundBy::hand_count, HandCount{1000, 987}},
                            Case{FoundBy::weighing, Weighing{15.02, 0.01, 15.1, 0.08, 985}}}) {
        Record record = a_record();
        const auto efficiency = efficiency_of(one.figures, record.holds_for.gate, usual);
        ASSERT_TRUE(efficiency);
        record.efficiency = *efficiency;
        record.efficiency_source = EfficiencySource{one.found_by, "constructed", one.figures};
        record.inputs = {{"a.droplog", "00ff", 3}};
        const auto back = parse_record(to_toml(record), "r.toml");
        ASSERT_TRUE(back) << to_toml(record);
        EXPECT_EQ(to_toml(*back), to_toml(record));
        ASSERT_TRUE(back->efficiency_source && back->efficiency_source->figures);
        const auto again = efficiency_of(*back->efficiency_source->figures, back->holds_for.gate,
                                         back->efficiency->confidence);
        ASSERT_TRUE(again);
        EXPECT_NEAR(again->value, back->efficiency->value, 1e-12);
        EXPECT_NEAR(again->interval->low, back->efficiency->interval->low, 1e-12);
        EXPECT_EQ(back->inputs.front().channel, 3);
        EXPECT_EQ(words_of(*back->efficiency_source->figures), words_of(one.figures));
    }
}

TEST(CalibrationRecord, NamesTheLineThatIsWrong) {
    const std::string good =
        "schema = \"dropledger/calibration/1\"\nid = \"x\"\ndate = \"2026-01-02\"\n"
        "expires = \"2026-12-31\"\n[holds_for]\ngate = 1\n";
    EXPECT_TRUE(parse_record(good, "r.toml"));
    const std::pair<std::string, std::string> wrong[] = {
        {good + "[efficiency]\nvalue = 2\n", "r.toml:8"},
        {good + "colour = 3\n", "r.toml:7"},
        {"id = [\n", "r.toml:"},
        {good + "[efficiency]\nvalue = 0.5\nlow = 0.6\nhigh = 0.7\nconfidence = 0.95\nmethod = "
                "\"m\"\n",
         "r.toml:7"}};
    for (const auto& [text, where] : wrong) {
        const auto refused = parse_record(text, "r.toml");
        ASSERT_FALSE(refused) << text;
        EXPECT_EQ(refused.error().where.substr(0, where.size()), where)
            << refused.error().message();
    }
}

TEST(CalibrationRecord, JoinsWhatIsForTheSameAndRefusesTheRest) {
    Record flight = a_record();
    flight.efficiency.reset();
    flight.flight_us = ValueWithU{1000.0, 1.0};
    const auto both = joined(a_record(), flight);
    ASSERT_TRUE(both);
    EXPECT_TRUE(both->efficiency && both->flight_us);
    flight.holds_for.unit = "T-2";
    EXPECT_FALSE(joined(a_record(), flight));
}

// What calibration is for: without it a half-blind sensor seems to condemn a healthy unit. The other
// gate contradicts it, so nothing is judged by it.
TEST(CalibratedAudit, JudgesAHealthyUnitUnderAHalfBlindGateRightly) {
    const OpenBytes log = open_string(half_blind_log());
    const auto without = audit::audit_log(log, options_with(nullptr));
    ASSERT_TRUE(without) << without.error().message();
    EXPECT_EQ(without->outcome, verdict::Outcome::undecided);
    ASSERT_EQ(without->contradictions.size(), 1U);
    EXPECT_EQ(without->contradictions.front().kind, audit::Contradiction::gates_disagree);
    EXPECT_FALSE(without->channels.front().sensor.correction(measures::Quantity::miss_index));

    const Record record = a_record();
    const auto with_it = audit::audit_log(log, options_with(&record));
    ASSERT_TRUE(with_it) << with_it.error().message();
    const audit::ChannelReport& channel = with_it->channels.front();
    EXPECT_EQ(with_it->calibration, "CAL-1");
    EXPECT_TRUE(channel.sensor.judges_corrected);
    EXPECT_LE(
        channel.sensor.correction(measures::Quantity::miss_index)->corrected.estimate.interval->low,
        0.01);
    EXPECT_GE(channel.sensor.correction(measures::Quantity::miss_index)
                  ->corrected.estimate.interval->high,
              0.01);
    EXPECT_NE(with_it->outcome, verdict::Outcome::outside);
    const auto sentences = report::sensor_sentences(channel);
    ASSERT_FALSE(sentences.empty());
    EXPECT_NE(sentences.front().find("had no seed indeed"), std::string::npos);
    EXPECT_EQ(channel.sensor.outcome_as_seen, verdict::Outcome::outside);
}

// With an efficiency known well enough the same unit comes out within.
TEST(CalibratedAudit, CallsTheHealthyUnitWithinWhereTheEfficiencyIsKnownWell) {
    Record record = a_record();
    record.efficiency = statistics::share_estimate(35'000, 50'000, 1.0, usual);
    const auto found = audit::audit_log(open_string(half_blind_log()), options_with(&record));
    ASSERT_TRUE(found);
    EXPECT_EQ(found->channels.front().judgement.criteria.front().limit.quantity,
              measures::Quantity::miss_index);
    for (const verdict::Criterion& criterion : found->channels.front().judgement.criteria)
        EXPECT_EQ(criterion.outcome, verdict::Outcome::within)
            << key_of(criterion.limit.quantity) << ' ' << criterion.estimate->value << ' '
            << criterion.estimate->interval->low << ' ' << criterion.estimate->interval->high;
}

// The speed is the log's to state; where it does not, its travel lines tell it.
TEST(CalibratedAudit, WidensPlacesForTheFlightTimeWhetherOrNotTheLogStatesItsSpeed) {
    Record record = a_record();
    record.flight_us = ValueWithU{100'000.0, 5'000.0};
    std::string silent = half_blind_log();
    const std::size_t begin = silent.find("@set,speed_um_s,");
    ASSERT_NE(begin, std::string::npos);
    silent.erase(begin, silent.find('\n', begin) + 1 - begin);
    const auto half_width = [&](const std::string& log) {
        const auto found = audit::audit_log(open_string(log), options_with(&record));
        const auto& offset = found->channels.front().placement()->offset_mm;
        return (offset->interval->high - offset->interval->low) / 2.0;
    };
    const double stated = half_width(half_blind_log());
    EXPECT_GT(stated, 2.45); // 1.96 times 5 ms at 0.25 m/s alone
    EXPECT_NEAR(half_width(silent), stated, 0.1 * stated);
}

TEST(CalibratedAudit, RefusesAForeignCalibrationUnlessTold) {
    const OpenBytes log = open_string(half_blind_log());
    for (const auto& change :
         {+[](Record& r) { r.holds_for.unit = "T-9"; }, +[](Record& r) { r.holds_for.gate = 0; },
          +[](Record& r) { r.holds_for.crop = "red beet"; }}) {
        Record record = a_record();
        change(record);
        const auto refused = audit::audit_log(log, options_with(&record));
        ASSERT_FALSE(refused);
        EXPECT_NE(refused.error().message().find("CAL-1"), std::string::npos);
        EXPECT_TRUE(audit::audit_log(log, options_with(&record, true)));
    }
}

TEST(CalibratedAudit, ShowsAnExpiredCalibrationButDoesNotJudgeByIt) {
    Record record = a_record();
    record.expires = "2025-12-31";
    const auto found = audit::audit_log(open_string(half_blind_log()), options_with(&record));
    ASSERT_TRUE(found);
    EXPECT_EQ(found->outcome, verdict::Outcome::undecided);
    EXPECT_TRUE(found->channels.front().sensor.correction(measures::Quantity::miss_index));
    const bool warned =
        std::any_of(found->notes.begin(), found->notes.end(), [](const std::string& note) {
            return note.find("expired") != std::string::npos;
        });
    EXPECT_TRUE(warned);
}

TEST(CalibratedAudit, CountsSeedsInPulsesByTheClassifier) {
    Record record = a_record();
    record.efficiency.reset();
    // every pulse wider than 1 us is two seeds to this one
    record.classifier = Classifier{{{1, 0.5, 0.0, 0.1, -1.0, 2.0}, {2, 0.5, 7.0, 2.0, -1.0, 2.0}}};
    const auto found = audit::audit_log(open_string(half_blind_log()), options_with(&record));
    ASSERT_TRUE(found);
    const audit::ChannelReport& channel = found->channels.front();
    EXPECT_EQ(channel.drops()->table.seeds, 2 * channel.pulses);
    EXPECT_GT(channel.drops()->table.multiple, 0);
}

TEST(CalibratedAudit, TakesTheFlightTimeFromTheCalibration) {
    Record record = a_record();
    record.efficiency.reset();
    const OpenBytes log = open_string(half_blind_log());
    const double before = audit::audit_log(log, options_with(nullptr))
                              ->channels.front()
                              .placement()
                              ->offset_mm->value;
    const auto setup_us =
        audit::audit_log(log, options_with(nullptr))->setup.channels.at(0).gates.front().fall_us;
    record.flight_us = ValueWithU{static_cast<double>(setup_us + 20'000), 100.0};
    const auto after = audit::audit_log(log, options_with(&record));
    ASSERT_TRUE(after);
    // 20 ms at 0.25 m/s
    EXPECT_NEAR(after->channels.front().placement()->offset_mm->value - before, 5.0, 0.1);
}
