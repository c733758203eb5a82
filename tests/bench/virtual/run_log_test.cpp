#include "a_scenario.hpp"

#include "analysis/droplog/line.hpp"
#include "bench/virtual/run_log.hpp"

#include <gtest/gtest.h>

#include <map>
#include <set>

namespace dropledger::bench_virtual {
namespace {

struct Simulated {
    std::vector<std::string> lines; // without LF
    std::vector<RunTruth> truths;
    std::vector<PulseTruth> pulses;
};

Simulated simulated(const Scenario& scenario) {
    Simulated found;
    simulate_log(scenario,
                 {.line =
                      [&](std::string_view line) {
                          found.lines.emplace_back(line.substr(0, line.size() - 1));
                      },
                  .truth = [&](const RunTruth& truth) { found.truths.push_back(truth); },
                  .pulse = [&](const PulseTruth& pulse) { found.pulses.push_back(pulse); }});
    return found;
}

std::vector<std::string> fixtures() {
    return {"healthy",        "worn_cell",    "bridging_hopper", "empty_hopper",
            "dirty_gate",     "dirty_sensor", "slow_valve",      "drifting_valve",
            "double_feeding", "startup_loss", "portion_healthy", "portion_short",
            "line_regular",   "line_clumpy",  "six_units",       "half_blind_gate"};
}

Scenario fixture(const std::string& name) {
    const auto scenario = read_scenario(DROPLEDGER_FIXTURES "/scenarios/" + name + ".toml");
    if (!scenario)
        throw std::logic_error(scenario.error().message());
    return *scenario;
}

std::string run_id(const Scenario& scenario, std::int64_t started_s) {
    std::string head;
    simulate_log(scenario,
                 {.line =
                      [&](std::string_view line) {
                          if (head.empty())
                              head = line;
                      },
                  .truth = {},
                  .pulse = {}},
                 started_s);
    return head.substr(0,
                       std::string_view{"@droplog,1,00000000-0000-4000-8000-000000000000"}.size());
}

// 2026-11-26: logs at several speeds of one seed had one id; so had seed 6 at one second and seed 7
// at the next.
TEST(SimulatedRun, HasAnIdOfItsOwnWhereAnythingAboutItDiffers) {
    std::vector<std::string> ids;
    const auto keep = [&](const auto& change, std::int64_t started_s = usual_start_s,
                          const std::string& toml = single_toml) {
        Scenario scenario = scenario_of(toml);
        scenario.drops = 5;
        change(scenario);
        ids.push_back(run_id(scenario, started_s));
    };
    keep([](Scenario&) {});
    keep([](Scenario& one) { one.drops = 6; });
    keep([](Scenario& one) { one.speed_um_s += 1; });
    keep([](Scenario& one) { one.seed = 6; });
    keep([](Scenario&) {}, usual_start_s + 1);
    keep([](Scenario& one) { one.seed = 6; }, usual_start_s + 1);
    keep([](Scenario&) {}, usual_start_s, with(single_toml, "fill = 0.9", "fill = 0.8"));
    EXPECT_EQ(std::set<std::string>(ids.begin(), ids.end()).size(), ids.size());
    keep([](Scenario&) {});
    EXPECT_EQ(ids.back(), ids.front());
}

class EveryScenario : public testing::TestWithParam<std::string> {};

TEST_P(EveryScenario, GivesTheSameBytesAgain) {
    Scenario scenario = fixture(GetParam());
    scenario.drops = 100;
    EXPECT_EQ(simulated(scenario).lines, simulated(scenario).lines);
}

// Every line is legal; SEQ has no gap; settings come before the first controller line; the log is
// closed.
TEST_P(EveryScenario, WritesALogThatConformsToTheFormat) {
    const Simulated log = simulated(fixture(GetParam()));
    EXPECT_EQ(droplog::decode(log.lines.front()).name, droplog::LineName::host_droplog);
    EXPECT_EQ(droplog::decode(log.lines.back()).name, droplog::LineName::host_close);
    std::uint32_t next = 0;
    for (const std::string& line : log.lines) {
        const auto record = droplog::decode(line);
        ASSERT_NE(record.name, droplog::LineName::damaged) << line;
        ASSERT_NE(record.name, droplog::LineName::unknown) << line;
        ASSERT_FALSE(record.extra_fields) << line;
        const bool setting = record.name == droplog::LineName::host_set ||
                             record.name == droplog::LineName::host_channel;
        EXPECT_TRUE(!setting || next == 0) << line;
        if (record.from_controller()) {
            ASSERT_EQ(record.seq, next) << line;
            ++next;
        }
    }
}

TEST_P(EveryScenario, KnowsTheSeedsOfEveryPulseLine) {
    const Simulated log = simulated(fixture(GetParam()));
    std::map<std::uint32_t, const PulseTruth*> truth_of;
    for (const PulseTruth& pulse : log.pulses)
        truth_of[pulse.seq] = &pulse;
    std::size_t pulses = 0;
    for (const std::string& line : log.lines) {
        const auto record = droplog::decode(line);
        if (record.name != droplog::LineName::pulse)
            continue;
        ++pulses;
        ASSERT_TRUE(truth_of.count(record.seq)) << line;
        EXPECT_EQ(truth_of[record.seq]->gate, record.gate);
        EXPECT_EQ(truth_of[record.seq]->channel, record.channel);
        EXPECT_GT(record.width_us, 0U);
        EXPECT_LE(record.depth_milli, 1000U);
    }
    EXPECT_EQ(pulses, log.pulses.size());
}

INSTANTIATE_TEST_SUITE_P(Fixtures, EveryScenario, testing::ValuesIn(fixtures()),
                         [](const auto& row) { return row.param; });

TEST(SimulatedLog, TicksWrapAndTheRestIsUntouched) {
    Scenario scenario = single_scenario();
    const Simulated plain = simulated(scenario);
    scenario.tick_start = 4294967295U - 20000000U; // wraps after 20 s
    const Simulated wrapped = simulated(scenario);
    ASSERT_EQ(plain.lines.size(), wrapped.lines.size());
    bool wraps = false;
    std::uint32_t before = 0;
    for (std::size_t i = 0; i < plain.lines.size(); ++i) {
        const auto first = droplog::decode(plain.lines[i]);
        const auto second = droplog::decode(wrapped.lines[i]);
        if (!first.from_controller())
            continue;
        EXPECT_EQ(second.tick_us, first.tick_us + scenario.tick_start);
        wraps = wraps || (before > 4000000000U && second.tick_us < 1000000U);
        before = second.tick_us;
    }
    EXPECT_TRUE(wraps);
}

TEST(SimulatedLog, TruthCountsThePulsesOfTheLog) {
    const Simulated log = simulated(fixture("six_units"));
    std::map<std::pair<int, int>, std::int64_t> seen;
    for (const RunTruth& truth : log.truths)
        for (const int gate : {0, 1})
            seen[{truth.truth.channel, gate}] += truth.truth.seen[gate];
    for (const std::string& line : log.lines) {
        const auto record = droplog::decode(line);
        if (record.name == droplog::LineName::pulse)
            --seen[{record.channel, record.gate}];
    }
    EXPECT_EQ(seen.size(), 12U);
    for (const auto& [place, left] : seen)
        EXPECT_EQ(left, 0) << place.first << " gate " << place.second;
}

TEST(TruthRow, IsACsvRowWithEmptyPlaceForDust) {
    const Truth drop{.kind = TruthKind::drop,
                     .channel = 2,
                     .index = 5,
                     .position_um = 900000,
                     .seeds = 2,
                     .landings_um = {899000, 903000},
                     .seen = {1, 2},
                     .cause_us = 0.0};
    EXPECT_EQ(truth_row(drop, 0), "2,5,900000,2,899000;903000,1,2,drop,0");
    const Truth dust{.kind = TruthKind::debris,
                     .channel = 0,
                     .index = -1,
                     .position_um = 0,
                     .seeds = 0,
                     .landings_um = {},
                     .seen = {0, 1},
                     .cause_us = 0.0};
    EXPECT_EQ(truth_row(dust, 1), "0,,,0,,0,1,debris,1");
    EXPECT_EQ(truth_header(),
              "channel,index,position_um,seeds,landings_um,seen_gate0,seen_gate1,kind,run");
}

} // namespace
} // namespace dropledger::bench_virtual
