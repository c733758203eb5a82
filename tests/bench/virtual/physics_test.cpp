#include "a_scenario.hpp"
#include "a_simulation.hpp"

#include "analysis/base/result.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

namespace dropledger::bench_virtual {
namespace {

TEST(Physics, RepeatsBitForBitWithTheSameSeedAndDiffersWithAnother) {
    Scenario scenario = single_scenario();
    const auto key = [](const Outcome& outcome) {
        std::vector<std::int64_t> all;
        for (const Event& event : outcome.events)
            all.insert(all.end(), {event.at_us, event.send_us, event.position_um, event.width_us,
                                   event.depth_milli});
        return all;
    };
    const auto first = key(simulate(scenario, 300));
    EXPECT_EQ(first, key(simulate(scenario, 300)));
    scenario.seed += 1;
    EXPECT_NE(first, key(simulate(scenario, 300)));
}

TEST(Physics, CommandsEveryDropOnceAtMultiplesOfTheSpacing) {
    const Outcome outcome = simulate(single_scenario(), 500);
    std::uint32_t next = 0;
    for (const Event& event : outcome.events)
        if (event.kind == EventKind::drop) {
            EXPECT_EQ(event.index, next++);
            EXPECT_EQ(event.position_um % 180000, 0);
        }
    EXPECT_EQ(next, 500U);
    EXPECT_EQ(outcome.of(TruthKind::drop).size(), 500U);
}

TEST(Physics, SendsInOrderAtMostFiftyMillisecondsLateAndTellsTravelOftenEnough) {
    for (const Scenario& scenario : {single_scenario(), portion_scenario(), line_scenario("1.5")}) {
        const Outcome outcome = simulate(scenario, 400);
        std::int64_t sent = 0;
        std::int64_t travelled = 0;
        bool out_of_tick_order = false;
        for (std::size_t i = 0; i < outcome.events.size(); ++i) {
            const Event& event = outcome.events[i];
            EXPECT_GE(event.send_us, sent);
            EXPECT_GE(event.at_us, 0);
            EXPECT_GE(event.send_us, event.at_us);
            EXPECT_LE(event.send_us - event.at_us, 50000);
            out_of_tick_order =
                out_of_tick_order || (i > 0 && event.at_us < outcome.events[i - 1].at_us);
            sent = event.send_us;
            if (event.kind != EventKind::travel)
                continue;
            EXPECT_LE(event.at_us - travelled, 250000);
            travelled = event.at_us;
        }
        EXPECT_TRUE(out_of_tick_order);
        for (const Event& event : outcome.events)
            EXPECT_LE(event.at_us, travelled); // no pulse after the last travel reference
    }
}

// What the truth says the gates saw is what is on the wire, in every mode, with strays and dust.
TEST(Physics, TruthAndPulsesAgree) {
    for (Scenario scenario : {single_scenario(), portion_scenario(), line_scenario("1.5")}) {
        scenario.channels[0].stray_per_m = 0.3;
        scenario.channels[0].gates[0]->debris_per_m = 0.5;
        scenario.channels[0].gates[1]->debris_per_m = 0.5;
        scenario.channels[0].disc_jitter_us = 60000.0;
        const Outcome outcome = simulate(scenario, 700);
        for (const int gate : {0, 1}) {
            std::int64_t seen = 0;
            for (const Truth& truth : outcome.truths)
                seen += truth.seen[gate];
            EXPECT_EQ(seen, outcome.pulses(gate)) << name_of(scenario.mode);
        }
        EXPECT_FALSE(outcome.of(TruthKind::debris).empty());
        EXPECT_FALSE(outcome.of(TruthKind::stray).empty());
        for (const Truth& truth : outcome.truths)
            EXPECT_EQ(truth.landings_um.size(), truth.seeds);
    }
}

TEST(Physics, NoSeedIsLostBetweenTheDiscAndTheTruth) {
    Scenario scenario = single_scenario();
    scenario.channels[0].fill = 1.0;
    scenario.channels[0].doubles = 0.0;
    scenario.channels[0].disc_phase =
        -0.1; // seeds reach the valve before, while and after it is open
    scenario.channels[0].disc_jitter_us = 30000.0;
    std::uint64_t seeds = 0;
    std::size_t late = 0;
    const Outcome outcome = simulate(scenario, 1000);
    for (const Truth& truth : outcome.of(TruthKind::drop)) {
        seeds += truth.seeds;
        late += truth.seeds != 1 ? 1U : 0U;
    }
    EXPECT_EQ(seeds + outcome.of(TruthKind::held).size(), 1000U);
    EXPECT_GT(late, 50U); // a late metering phase: misses and multiples side by side
}

TEST(Physics, ASeedThatComesWhileTheValveIsStillOpenFallsWithTheDropBefore) {
    Scenario scenario = single_scenario();
    scenario.channels[0].fill = 1.0;
    scenario.channels[0].doubles = 0.0;
    scenario.channels[0].disc_phase = 0.93; // about 50 ms after the command before, when it is open
    const auto drops = simulate(scenario, 200).of(TruthKind::drop);
    ASSERT_EQ(drops.size(), 200U);
    EXPECT_EQ(drops.front().seeds, 2U);
    EXPECT_EQ(drops.back().seeds, 0U);
}

TEST(Physics, FillDoublesAndDetectionComeOutAsTheirParametersSay) {
    const Outcome outcome = simulate(single_scenario(), 20000);
    const auto drops = outcome.of(TruthKind::drop);
    const double misses = share_of(drops, [](const Truth& truth) { return truth.seeds == 0; });
    const double doubles = share_of(drops, [](const Truth& truth) { return truth.seeds == 2; });
    EXPECT_NEAR(misses, 0.10, four_sigma(0.10, drops.size()));
    EXPECT_NEAR(doubles, 0.9 * 0.05, four_sigma(0.045, drops.size()));
    std::vector<Truth> ones;
    std::copy_if(drops.begin(), drops.end(), std::back_inserter(ones),
                 [](const Truth& t) { return t.seeds == 1; });
    const double seen0 = share_of(ones, [](const Truth& truth) { return truth.seen[0] == 1; });
    const double seen1 = share_of(ones, [](const Truth& truth) { return truth.seen[1] == 1; });
    EXPECT_NEAR(seen0, 0.97, four_sigma(0.97, ones.size()));
    EXPECT_NEAR(seen1, 0.95, four_sigma(0.95, ones.size()));
}

TEST(Physics, LandingsScatterAroundTheCommandedPlaceAsLagJitterAndFlightSay) {
    Scenario scenario = single_scenario();
    scenario.channels[0].doubles = 0.0;
    scenario.speed_ripple = 0.0;
    const Outcome outcome = simulate(scenario, 20000);
    double sum = 0.0;
    double squares = 0.0;
    double n = 0.0;
    for (const Truth& truth : outcome.of(TruthKind::drop))
        for (const std::int64_t landing : truth.landings_um) {
            const double error_mm = static_cast<double>(landing - truth.position_um) / 1000.0;
            sum += error_mm;
            squares += error_mm * error_mm;
            n += 1.0;
        }
    const UnitTimes times = unit_times(scenario.channels[0], scenario.crop);
    // at 0.25 m/s: valve jitter 1 ms and 1 % of the flight time
    const double expected_mm = 0.25 * std::hypot(1.0, 0.01 * times.valve_to_ground_us / 1000.0);
    EXPECT_NEAR(sum / n, 0.0, 4.0 * expected_mm / std::sqrt(n));
    EXPECT_NEAR(std::sqrt(squares / n), expected_mm, 4.0 * expected_mm / std::sqrt(2.0 * n));
}

// A lag of 15 ms over that for which the lead was set moves the landing by speed times 15 ms, at
// any speed.
TEST(Physics, BiasIsSpeedTimesTheUncompensatedLag) {
    for (const std::int64_t speed_um_s : {150000, 300000, 600000}) {
        Scenario scenario = single_scenario();
        scenario.speed_um_s = speed_um_s;
        scenario.channels[0].doubles = 0.0;
        scenario.channels[0].lead_us =
            std::llround(unit_times(scenario.channels[0], scenario.crop).valve_to_ground_us);
        scenario.channels[0].offset_um = 2000;
        double sum_mm = 0.0;
        double n = 0.0;
        for (const Truth& truth : simulate(scenario, 2000).of(TruthKind::drop))
            for (const std::int64_t landing : truth.landings_um) {
                sum_mm += static_cast<double>(landing - truth.position_um) / 1000.0;
                n += 1.0;
            }
        const double speed_mps = static_cast<double>(speed_um_s) / 1e6;
        EXPECT_NEAR(sum_mm / n, 2.0 + speed_mps * 15.0,
                    4.0 * speed_mps * 3.3 / std::sqrt(n) + 0.001)
            << speed_um_s;
    }
}

// What the audit will compute, X(t) + v·f at the reference gate, is where the seeds really landed.
TEST(Physics, TheReferenceGateTellsWhereSeedsLand) {
    Scenario scenario = single_scenario();
    scenario.channels[0].doubles = 0.0;
    scenario.channels[0].fill = 1.0;
    scenario.channels[0].flight_cv = 0.0;
    scenario.channels[0].gates[1]->detection = 1.0;
    scenario.speed_ripple = 0.0;
    const UnitTimes times = unit_times(scenario.channels[0], scenario.crop);
    const Outcome outcome = simulate(scenario, 200);
    std::vector<std::int64_t> landings;
    for (const Truth& truth : outcome.of(TruthKind::drop))
        landings.insert(landings.end(), truth.landings_um.begin(), truth.landings_um.end());
    std::vector<double> seen;
    for (const Event& event : outcome.events)
        if (event.kind == EventKind::pulse && event.gate == 1)
            seen.push_back(0.25 * (static_cast<double>(event.at_us) + times.gates[1].to_ground_us));
    ASSERT_EQ(seen.size(), landings.size());
    for (std::size_t i = 0; i < seen.size(); ++i)
        EXPECT_NEAR(seen[i], static_cast<double>(landings[i]), 1.0);
}

TEST(Physics, AWornCellMissesAtItsResidueOnly) {
    Scenario scenario = single_scenario();
    scenario.channels[0].fill = 1.0;
    scenario.channels[0].worn_cells = {{.cell = 7, .fill = 0.25}};
    std::size_t worn_missed = 0;
    for (const Truth& truth : simulate(scenario, 4800).of(TruthKind::drop)) {
        const bool missed = truth.seeds == 0;
        worn_missed += missed && truth.index % 24 == 7 ? 1U : 0U;
        EXPECT_TRUE(!missed || truth.index % 24 == 7) << truth.index;
    }
    EXPECT_NEAR(share(static_cast<std::int64_t>(worn_missed), 200), 0.75, four_sigma(0.75, 200));
}

TEST(Physics, AnEmptyHopperGivesNothingFromItsDropOn) {
    Scenario scenario = single_scenario();
    scenario.channels[0].empty_from_drop = 150;
    for (const Truth& truth : simulate(scenario, 300).of(TruthKind::drop))
        if (truth.index >= 150) {
            EXPECT_EQ(truth.seeds, 0U);
        }
}

TEST(Physics, BridgingComesInBurstsOfTheirMeanLength) {
    Scenario scenario = single_scenario();
    scenario.channels[0].fill = 1.0;
    scenario.channels[0].bridging = {.per_1000_drops = 8.0, .mean_drops = 10.0, .fill = 0.0};
    std::vector<int> bursts;
    bool empty = false;
    for (const Truth& truth : simulate(scenario, 60000).of(TruthKind::drop)) {
        if (truth.seeds == 0 && !empty)
            bursts.push_back(0);
        empty = truth.seeds == 0;
        if (empty)
            ++bursts.back();
    }
    double sum = 0.0;
    for (const int length : bursts)
        sum += length;
    const double n = static_cast<double>(bursts.size());
    EXPECT_NEAR(sum / n, 10.0, 4.0 * std::sqrt(90.0 / n)); // geometric: variance m(m - 1)
    EXPECT_NEAR(n, (60000.0 - sum) * 0.008, 4.0 * std::sqrt(n));
}

TEST(Physics, StartupLossEndsAfterItsDrops) {
    Scenario scenario = single_scenario();
    scenario.channels[0].fill = 1.0;
    scenario.channels[0].startup = {.drops = 25, .fill = 0.0};
    for (const Truth& truth : simulate(scenario, 60).of(TruthKind::drop))
        EXPECT_EQ(truth.seeds == 0, truth.index < 25) << truth.index;
}

TEST(Physics, APortionsSeedsHaveTheirOwnChanceEach) {
    const Outcome outcome = simulate(portion_scenario(), 6000);
    const auto drops = outcome.of(TruthKind::drop);
    double seeds = 0.0;
    double squares = 0.0;
    for (const Truth& truth : drops) {
        seeds += truth.seeds;
        squares += static_cast<double>(truth.seeds) * truth.seeds;
    }
    const double n = static_cast<double>(drops.size());
    const double mean = 5.0 * 0.9 * 1.05;
    const double variance =
        5.0 * (0.9 * (1.0 + 3.0 * 0.05) - 0.945 * 0.945); // one place: 0, 1 or 2 seeds
    EXPECT_NEAR(seeds / n, mean, 4.0 * std::sqrt(variance / n));
    EXPECT_NEAR(squares / n - seeds / n * (seeds / n), variance,
                4.0 * variance * std::sqrt(3.0 / n));
}

// Counts per metre: dispersion (variance over mean) is the square of the gaps' variation for long
// pieces.
TEST(Physics, ALineIsRegularRandomOrClusteredAsItsGapsSay) {
    for (const auto& [gap_cv, low, high] :
         {std::tuple{"0.0", 0.0, 0.02}, std::tuple{"0.45", 0.15, 0.28},
          std::tuple{"1.0", 0.85, 1.15}, std::tuple{"1.7", 2.2, 3.4}}) {
        Scenario scenario = line_scenario(gap_cv);
        scenario.channels[0].fill = 1.0;
        scenario.channels[0].doubles = 0.0;
        std::vector<double> counts(1000, 0.0);
        std::int64_t first = -1;
        for (const Truth& truth : simulate(scenario, 30000).of(TruthKind::seed)) {
            first = first < 0 ? truth.position_um : first;
            const auto metre = static_cast<std::size_t>((truth.position_um - first) / 1000000);
            if (metre < counts.size())
                counts[metre] += truth.seeds;
        }
        double sum = 0.0;
        double squares = 0.0;
        for (const double count : counts) {
            sum += count;
            squares += count * count;
        }
        const double mean = sum / 1000.0;
        const double dispersion = (squares / 1000.0 - mean * mean) / mean;
        EXPECT_NEAR(mean, 30.0,
                    4.0 * std::max(std::stod(gap_cv), 0.01) * std::sqrt(30.0 / 1000.0) + 0.05)
            << gap_cv;
        EXPECT_GE(dispersion, low) << gap_cv;
        EXPECT_LE(dispersion, high) << gap_cv;
    }
}

TEST(Physics, ADirtyGateSeesLessAndShallower) {
    Scenario scenario = single_scenario();
    scenario.channels[0].fill = 1.0;
    scenario.channels[0].doubles = 0.0;
    scenario.channels[0].gates[1]->fade = {
        .from_drop = 0, .to_drop = 1000, .detection = 0.5, .depth = 0.4};
    const Outcome outcome = simulate(scenario, 5000);
    std::int64_t seen = 0;
    std::int64_t after = 0;
    for (const Truth& truth : outcome.of(TruthKind::drop))
        if (truth.index >= 1000) {
            seen += truth.seen[1];
            ++after;
        }
    EXPECT_NEAR(share(seen, static_cast<std::size_t>(after)), 0.95 * 0.5, four_sigma(0.475, 4000));
}

TEST(Physics, WiderSeedsMakeLongerPulses) {
    const auto mean_width = [](double seed_mm) {
        Scenario scenario = single_scenario();
        scenario.channels[0].doubles = 0.0;
        scenario.crop.seed_mm = seed_mm;
        double sum = 0.0;
        double n = 0.0;
        for (const Event& event : simulate(scenario, 1000).events)
            if (event.kind == EventKind::pulse && event.gate == 1) {
                sum += event.width_us;
                n += 1.0;
            }
        return sum / n;
    };
    // (seed + beam of 3 mm) / speed: 7 mm against 4.6 mm; log-normal scatter is common to both
    EXPECT_NEAR(mean_width(4.0) / mean_width(1.6), 7.0 / 4.6, 0.03);
}

TEST(Physics, ChannelsDoNotDisturbEachOther) {
    const std::string two = std::string(single_toml) + "[[channel]]\nunit = \"T-2\"\nfill = 0.5\n";
    const auto first_of = [](const Outcome& outcome) {
        std::vector<std::int64_t> landings;
        for (const Truth& truth : outcome.truths)
            if (truth.channel == 0)
                landings.insert(landings.end(), truth.landings_um.begin(), truth.landings_um.end());
        return landings;
    };
    EXPECT_EQ(first_of(simulate(scenario_of(two), 200)),
              first_of(simulate(single_scenario(), 200)));
}

TEST(Physics, AfterAStopNoDropIsCommandedButWhatFallsIsStillSeen) {
    Scenario scenario = single_scenario();
    scenario.channels[0].gates[1]->detection = 1.0;
    Physics physics(scenario, default_order(scenario));
    constexpr std::int64_t stop_us = 60000000;
    std::int64_t last_drop_us = 0;
    std::int64_t last_us = 0;
    std::uint32_t drops = 0;
    std::int64_t pulses = 0;
    std::vector<Truth> truths;
    while (const Event* event = physics.peek()) {
        if (event->at_us > stop_us && last_us <= stop_us)
            physics.stop(stop_us);
        event = physics.peek();
        if (event == nullptr)
            break;
        last_us = std::max(last_us, event->at_us);
        if (event->kind == EventKind::drop) {
            ++drops;
            last_drop_us = event->at_us;
        }
        pulses += event->kind == EventKind::pulse && event->gate == 1 ? 1 : 0;
        physics.pop();
        for (Truth& truth : physics.take_truths())
            truths.push_back(truth);
    }
    for (Truth& truth : physics.take_truths())
        truths.push_back(truth);
    EXPECT_LE(last_drop_us, stop_us);
    EXPECT_GT(last_us, stop_us);
    EXPECT_EQ(truths.size(), drops);
    std::int64_t seen = 0;
    for (const Truth& truth : truths)
        seen += truth.seen[1];
    EXPECT_EQ(seen, pulses);
}

TEST(Physics, AnOrderForAChannelThatIsNotThereIsABugOfTheCaller) {
    Order order = default_order(single_scenario());
    order.channel_mask = 2;
    EXPECT_THROW(Physics(single_scenario(), order), BrokenInvariant);
}

} // namespace
} // namespace dropledger::bench_virtual
