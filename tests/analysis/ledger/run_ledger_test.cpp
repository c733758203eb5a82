// Properties on random runs (fixed seeds), and runs constructed by hand.
#include "tests/analysis/ledger/ledger_of.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>
#include <stdexcept>
#include <tuple>

using namespace dropledger::ledger;

namespace {

constexpr std::int64_t spacing = 180'000;

struct Sown {
    std::int64_t start_um = 0;
    int direction = 1;
    std::uint32_t drops = 200;
    std::uint32_t seed = 1;
    std::int64_t offset_um = 4'000;
    std::int64_t fall_us = 280'000;
};

// Drops at steady speed with misses, multiples and debris; direction −1 is its mirror image.
Script sown(const Sown& how) {
    std::mt19937 random{how.seed};
    std::normal_distribution<double> scatter(0.0, 8'000.0);
    std::uniform_real_distribution<double> uniform(0.0, 1.0);
    Script script;
    const auto time_at = [](std::int64_t place) { return 2'000'000 + place * 4; }; // 0.25 m/s
    const std::int64_t length = (how.drops + 4) * spacing;
    std::vector<std::int64_t> pulses;
    for (std::uint32_t i = 0; i < how.drops; ++i)
        for (int n = uniform(random) < 0.05 ? 0 : uniform(random) < 0.05 ? 2 : 1; n > 0; --n)
            pulses.push_back(
                time_at(2 * spacing + i * spacing + how.offset_um + std::llround(scatter(random))) -
                how.fall_us);
    for (int i = 0; i < 8; ++i)
        pulses.push_back(time_at(std::llround(uniform(random) * static_cast<double>(length))));
    std::vector<std::tuple<std::int64_t, int, std::int64_t>> events;
    for (std::int64_t place = 0; place <= length; place += 25'000)
        events.emplace_back(time_at(place), 0, place);
    for (std::uint32_t i = 0; i < how.drops; ++i)
        events.emplace_back(time_at(2 * spacing + i * spacing) - 300'000, 1, i);
    for (const std::int64_t time : pulses)
        events.emplace_back(time, 2, 0);
    std::sort(events.begin(), events.end());
    for (const auto& [time, kind, value] : events) {
        if (kind == 0)
            script.travel(time, how.start_um + how.direction * value);
        else if (kind == 1)
            script.drop(time, static_cast<std::uint32_t>(value),
                        how.start_um + how.direction * (2 * spacing + value * spacing));
        else
            script.pulse(time);
    }
    return script;
}

std::vector<std::int64_t> differences(const std::vector<std::int64_t>& places) {
    std::vector<std::int64_t> out;
    for (std::size_t i = 1; i < places.size(); ++i)
        out.push_back(places[i] - places[i - 1]);
    return out;
}

void expect_identities(const Fed& fed, std::uint32_t drops) {
    const Kept& kept = fed.of(0, 1);
    EXPECT_EQ(kept.entries.size(), drops);
    std::uint64_t entered = 0;
    for (const Entry& entry : kept.entries)
        entered += entry.seeds;
    EXPECT_EQ(kept.seeds, entered + kept.strays.size());
    EXPECT_EQ(kept.seeds, fed.ledger->channels().at(0).gates[0].tally().seeds);
    EXPECT_EQ(kept.landings.size(), kept.seeds);
    EXPECT_TRUE(std::is_sorted(kept.landings.begin(), kept.landings.end()));
}

} // namespace

TEST(RunLedger, EntersEveryDropAndEverySeedOnce) {
    for (std::uint32_t seed = 1; seed <= 20; ++seed)
        expect_identities(sown({.seed = seed}).feed(), 200);
}

TEST(RunLedger, EntersEverythingOnceInRunsLongerThanItLearnsFrom) {
    expect_identities(sown({.drops = 10'000, .seed = 3}).feed(), 10'000);
}

// Short runs, which no thread sees, and long ones; blocks that end anywhere.
TEST(RunLedger, FindsTheSameHoweverItsGatesAreSpreadOverThreads) {
    for (const std::uint32_t drops : {40U, 9'000U}) {
        Script script = sown({.drops = drops, .seed = 4});
        script.channel_set("gate0_place", "above");
        const Fed alone = script.feed();
        for (const Spread spread :
             {Spread{1, 1}, Spread{2, 7}, Spread{3, 1024}, Spread{8, 1'000'000}}) {
            const Fed fed = script.feed({}, spread);
            for (const int gate : {0, 1}) {
                EXPECT_EQ(fed.of(0, gate).counts(), alone.of(0, gate).counts());
                EXPECT_EQ(fed.of(0, gate).errors, alone.of(0, gate).errors);
                EXPECT_EQ(fed.of(0, gate).strays, alone.of(0, gate).strays);
                EXPECT_EQ(fed.of(0, gate).landings, alone.of(0, gate).landings);
                EXPECT_EQ(fed.of(0, gate).ends, alone.of(0, gate).ends);
            }
            EXPECT_EQ(fed.ledger->channels().at(0).gates.at(0).registration_um(),
                      alone.ledger->channels().at(0).gates.at(0).registration_um());
        }
    }
}

TEST(RunLedger, LetsAnExceptionOfASinkThroughFromWhateverThread) {
    struct Refusing final : EntrySink {
        void entry(const Entry& /*entry*/) override { throw std::runtime_error("no more"); }
        void assigned(const Landing& /*landing*/, std::int64_t /*error_um*/) override {}
        void stray(const Landing& /*landing*/) override {}
        void landed(const Landing& /*landing*/) override {}
        void segment_ended() override {}
    };
    Refusing refusing;
    for (const std::size_t block : {1U, 1'000'000U}) {
        RunLedger ledger([](const auto& header) { return run_setup(header, {}); },
                         [&](const auto&...) -> EntrySink& { return refusing; }, {},
                         {.threads = 2, .calls_in_block = block});
        EXPECT_THROW(sown({.drops = 9'000}).feed_to(ledger), std::runtime_error);
    }
}

TEST(RunLedger, FindsTheSameWhereverTheRunLies) {
    const Fed here = sown({.seed = 5}).feed();
    const Fed there = sown({.start_um = 1'000'000'000'000'000, .seed = 5}).feed();
    EXPECT_EQ(here.of(0, 1).counts(), there.of(0, 1).counts());
    EXPECT_EQ(here.of(0, 1).errors, there.of(0, 1).errors);
    EXPECT_EQ(differences(here.of(0, 1).landings), differences(there.of(0, 1).landings));
}

TEST(RunLedger, CountsPlacesInTheDirectionOfTravel) {
    const Fed there = sown({.seed = 6}).feed();
    const Fed back = sown({.direction = -1, .seed = 6}).feed();
    EXPECT_EQ(there.ledger->direction(), 1);
    EXPECT_EQ(back.ledger->direction(), -1);
    EXPECT_EQ(there.of(0, 1).errors, back.of(0, 1).errors); // late is late, either way
    EXPECT_EQ(there.of(0, 1).counts(), back.of(0, 1).counts());
}

TEST(RunLedger, IsNotMisledByATremblingEncoder) {
    Script script;
    for (int i = 0; i < 10; ++i)
        script.travel(i * 100'000, i % 2 == 0 ? 0 : -40);
    for (int i = 10; i < 60; ++i)
        script.travel(i * 100'000, (i - 10) * 25'000);
    const Fed fed = script.feed();
    EXPECT_EQ(fed.ledger->direction(), 1);
}

TEST(RunLedger, KeepsLandingsInTravelOrderWhereTravelTurnsBack) {
    Script script;
    std::int64_t place = 0;
    std::uint32_t drops = 0;
    for (int i = 0; i < 400; ++i) {
        const std::int64_t time = i * 100'000;
        place += i >= 200 && i < 230 ? -25'000 : 25'000;
        script.travel(time, place);
        if (i % 7 == 0 && (i < 200 || i > 270))
            script.drop(time, drops++, place);
        script.pulse(time + 40'000);
    }
    expect_identities(script.feed(), drops);
}

TEST(RunLedger, TakesLinesUpToFiftyMillisecondsLate) {
    Script script = sown({.seed = 8});
    const Fed in_time = script.feed();
    std::mt19937 random{8};
    std::vector<std::pair<std::int64_t, dropledger::droplog::Event>> late;
    for (const auto& event : script.events())
        late.emplace_back(event.time_us + static_cast<std::int64_t>(random() % 50'000), event);
    std::stable_sort(late.begin(), late.end(),
                     [](const auto& a, const auto& b) { return a.first < b.first; });
    std::transform(late.begin(), late.end(), script.events().begin(),
                   [](const auto& pair) { return pair.second; });
    const Fed shuffled = script.feed();
    EXPECT_EQ(in_time.of(0, 1).counts(), shuffled.of(0, 1).counts());
    EXPECT_EQ(in_time.of(0, 1).landings, shuffled.of(0, 1).landings);
}

TEST(RunLedger, ReadsTwoBootsAsTwoPartsOfOneRun) {
    Script script = sown({.drops = 50, .seed = 9});
    Script second = sown({.start_um = 20'000'000, .drops = 50, .seed = 10});
    script.reboot();
    for (const auto& event : second.events())
        script.events().push_back(event);
    const Fed fed = script.feed();
    expect_identities(fed, 100);
    EXPECT_EQ(fed.of(0, 1).ends.size(), 3U - 1U);
}

TEST(RunLedger, PlacesNothingWithoutTravel) {
    Script script;
    script.drop(0, 0, 0);
    script.pulse(300'000);
    const Fed fed = script.feed();
    EXPECT_EQ(fed.of(0, 1).counts(), (std::vector<std::uint32_t>{0}));
    EXPECT_EQ(fed.ledger->channels().at(0).gates[0].tally().unplaced, 1U);
}

TEST(RunLedger, LetsTheReferenceGateJudgeWhereThereIsOne) {
    Script script = sown({.drops = 20});
    script.channel_set("gate0_place", "above");
    EXPECT_EQ(script.feed().ledger->channels().at(0).gates[0].gate().number, 1);
    Script own;
    own.forget_gates();
    own.channel_set("gate0_place", "above");
    own.drop(1'000, 0, 0);
    own.pulse(500, 0);
    const Fed fed = own.feed();
    EXPECT_EQ(fed.ledger->channels().at(0).gates[0].gate().place, GatePlace::above);
    EXPECT_EQ(fed.of(0, 0).counts(), (std::vector<std::uint32_t>{1}));
}

TEST(RunLedger, KeepsTheOwnSensorsLedgerBesideTheReferenceGates) {
    Script script = sown({.drops = 20});
    script.channel_set("gate0_place", "above");
    script.pulse(500'000, 0);
    const Fed fed = script.feed();
    EXPECT_EQ(fed.ledger->channels().at(0).judge, 0U);
    EXPECT_EQ(fed.of(0, 0).entries.size(), 20U);
    EXPECT_EQ(fed.of(0, 1).seeds, fed.ledger->channels().at(0).gates[0].tally().seeds);
}

TEST(RunLedger, LeavesTheJudgingToADeclaredReferenceGateThatSawNothing) {
    Script script;
    script.channel_set("gate0_place", "below");
    script.travel(0, 0);
    script.travel(1'000'000, 250'000);
    script.drop(100'000, 0, 100'000);
    script.pulse(400'000, 0);
    const Fed fed = script.feed();
    const ChannelOutcome& outcome = fed.ledger->channels().at(0);
    EXPECT_EQ(outcome.gates[outcome.judge].gate().number, 1);
    EXPECT_TRUE(outcome.setup.may_judge(1));
    EXPECT_FALSE(outcome.setup.may_judge(0));
}

TEST(RunSetup, ComparesTheSecondGateOfALineByItsNumberOnly) {
    dropledger::droplog::Header header;
    header.run["mode"] = "line";
    header.channels[0] = {
        {"gate1_place", "below"}, {"gate1_fall_us", "1000"}, {"gate0_place", "above"}};
    const auto setup = run_setup(header, {});
    ASSERT_TRUE(setup);
    ASSERT_EQ(setup->channel(0).gates.size(), 2U);
    EXPECT_TRUE(setup->channel(0).may_judge(1));
    EXPECT_FALSE(setup->channel(0).may_judge(0));
    EXPECT_TRUE(setup->channel(0).assumed.empty()); // nothing is placed by it
}

TEST(RunLedger, LetsTheGateThatSawSomethingJudgeWhereTheLogDescribesNone) {
    Script script;
    script.forget_gates();
    script.travel(0, 0);
    script.travel(1'000'000, 250'000);
    script.drop(100'000, 0, 100'000);
    script.pulse(400'000, 0);
    const Fed fed = script.feed();
    const ChannelOutcome& outcome = fed.ledger->channels().at(0);
    EXPECT_EQ(outcome.gates[outcome.judge].gate().number, 0);
}

TEST(RunSetup, RefusesSettingsThatCannotBe) {
    const std::vector<std::pair<std::string, std::string>> wrong{{"mode", "sprinkle"},
                                                                 {"spacing_um", "-3"},
                                                                 {"spacing_um", "wide"},
                                                                 {"count", "1.5"},
                                                                 {"speed_um_s", "fast"}};
    for (const auto& [key, value] : wrong) {
        dropledger::droplog::Header header;
        header.run[key] = value;
        const auto setup = run_setup(header, {});
        ASSERT_FALSE(setup) << key;
        EXPECT_NE(setup.error().where.find(key), std::string::npos);
    }
    dropledger::droplog::Header header;
    header.channels[2]["gate1_place"] = "beside";
    EXPECT_FALSE(run_setup(header, {}));
    EXPECT_FALSE(run_setup({}, {.mode = {}, .spacing_um = 0}));
}
