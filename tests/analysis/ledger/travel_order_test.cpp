// Whatever order lines come in within what the format allows, and however travel sets out: the same
// ledger. Runs are constructed, with fixed seeds, below and above everything the ledger keeps or
// learns from.
#include "tests/analysis/ledger/ledger_of.hpp"

#include <gtest/gtest.h>

#include <random>

using namespace dropledger::ledger;

namespace {

constexpr std::int64_t spacing = 180'000;
constexpr std::int64_t um_per_us_quarter = 4; // 0.25 m/s: 4 µs for each µm
constexpr std::int64_t fall_us = 280'000;

struct Field {
    std::uint32_t drops = 300;
    int direction = 1;
    std::int64_t back_um = 0;  // that travel rolls back
    bool back_at_start = true; // or in the middle
    double most_late_us = 0.0; // by which lines come too late
    std::uint32_t seed = 1;
};

std::int64_t time_at(std::int64_t way_um) {
    return 2'000'000 + way_um * um_per_us_quarter;
}

// Travel by ways that only grow; `place` makes places of them: out by `back_um`, back again, on.
class Way {
public:
    explicit Way(const Field& field) : field_(field) {
        turn_um_ = field.back_at_start ? 0 : (field.drops / 2) * spacing + spacing / 2;
    }
    // Rolling back goes at the same speed, first back, then on again.
    [[nodiscard]] std::int64_t place(std::int64_t way_um) const {
        if (way_um <= turn_um_)
            return way_um;
        if (way_um <= turn_um_ + field_.back_um)
            return 2 * turn_um_ - way_um;
        return way_um - 2 * field_.back_um;
    }
    // Of the way on, after travel rolled back.
    [[nodiscard]] std::int64_t way(std::int64_t place_um) const {
        return place_um <= turn_um_ ? place_um : place_um + 2 * field_.back_um;
    }

private:
    Field field_;
    std::int64_t turn_um_ = 0;
};

// Every 12th drop a miss; travel lines every 100 ms; drops are commanded 300 ms before their place.
Script script_of(const Field& field) {
    std::mt19937 random{field.seed};
    std::normal_distribution<double> scatter(0.0, 6'000.0);
    std::uniform_real_distribution<double> late(0.0, field.most_late_us);
    const Way way{field};
    Script script;
    const std::int64_t length = way.way((field.drops + 4) * spacing);
    std::vector<std::pair<double, dropledger::droplog::Event>> sent;
    const auto send = [&](std::int64_t time_us) {
        sent.emplace_back(static_cast<double>(time_us) + late(random), script.events().back());
    };
    for (std::int64_t at = 0; at <= length; at += 25'000) {
        script.travel(time_at(at), field.direction * way.place(at));
        send(time_at(at));
    }
    for (std::uint32_t i = 0; i < field.drops; ++i) {
        const std::int64_t place = 2 * spacing + i * spacing;
        const std::int64_t time = time_at(way.way(place));
        script.drop(time - 300'000, i, field.direction * place);
        send(time - 300'000);
        const std::int64_t error_us = std::llround(scatter(random)) * um_per_us_quarter;
        if (i % 12 == 5)
            continue;
        script.pulse(time + error_us - fall_us);
        send(time + error_us - fall_us);
    }
    std::stable_sort(sent.begin(), sent.end(),
                     [](const auto& a, const auto& b) { return a.first < b.first; });
    script.events().clear();
    for (auto& [time, event] : sent) {
        event.line = script.events().size() + 1;
        script.events().push_back(event);
    }
    return script;
}

// What an audit is made of; the line numbers differ.
struct Numbers {
    std::vector<std::uint32_t> counts;
    std::vector<std::int64_t> errors;
    std::vector<std::int64_t> landings;
    std::size_t strays = 0;
    std::int64_t registration_um = 0;
    int direction = 0;
    std::int64_t step_um = 0;
    bool operator==(const Numbers&) const = default;
};

Numbers numbers_of(const Field& field) {
    const Fed fed = script_of(field).feed();
    const Kept& kept = fed.of(0, 1);
    Numbers numbers{.counts = kept.counts(),
                    .errors = kept.errors,
                    .landings = kept.landings,
                    .strays = kept.strays.size(),
                    .registration_um = fed.ledger->channels().at(0).gates[0].registration_um(),
                    .direction = fed.ledger->direction(),
                    .step_um = fed.ledger->travelled().step_um};
    return numbers;
}

std::string name_of(const Field& field) {
    return std::to_string(field.drops) + " drops, " + (field.direction > 0 ? "on" : "backward") +
           ", back by " + std::to_string(field.back_um) + " um " +
           (field.back_at_start ? "at the start" : "in the middle") + ", seed " +
           std::to_string(field.seed);
}

} // namespace

// 12 drops are fewer than any buffer holds; 9,000 more than the ledger learns from by landings.
TEST(TravelOrder, MakesNoDifferenceWithinFiftyMilliseconds) {
    for (const std::uint32_t drops : {12U, 300U, 9'000U})
        for (const int direction : {1, -1})
            for (const bool at_start : {true, false})
                for (const std::int64_t back_um : {0, 12'000, 1'000'000})
                    for (std::uint32_t seed = 1; seed <= (drops > 1000 ? 1U : 6U); ++seed) {
                        Field field{.drops = drops,
                                    .direction = direction,
                                    .back_um = back_um,
                                    .back_at_start = at_start,
                                    .seed = seed};
                        const Numbers in_order = numbers_of(field);
                        EXPECT_EQ(in_order.direction, direction) << name_of(field);
                        field.most_late_us = 50'000.0;
                        EXPECT_TRUE(numbers_of(field) == in_order) << name_of(field);
                    }
}

TEST(TravelOrder, MakesNoDifferenceAboveTheDropsAndLandingsThatAreLearntFrom) {
    for (const int direction : {1, -1}) {
        Field field{.drops = 17'000, .direction = direction, .back_um = 12'000};
        const Numbers in_order = numbers_of(field);
        field.most_late_us = 50'000.0;
        EXPECT_TRUE(numbers_of(field) == in_order);
        EXPECT_EQ(std::count(in_order.counts.begin(), in_order.counts.end(), 0U), 17'000 / 12 + 1);
        EXPECT_EQ(in_order.strays, 0U);
    }
}

TEST(TravelOrder, RollingBackCostsNoDropAndNoSeed) {
    for (const std::uint32_t drops : {12U, 300U, 9'000U})
        for (const std::int64_t back_um : {12'000, 300'000, 1'000'000})
            for (const bool at_start : {true, false}) {
                const Field field{.drops = drops, .back_um = back_um, .back_at_start = at_start};
                const Numbers rolled = numbers_of(field);
                const auto misses = std::count(rolled.counts.begin(), rolled.counts.end(), 0U);
                EXPECT_EQ(misses, static_cast<std::int64_t>((drops + 6) / 12)) << name_of(field);
                EXPECT_EQ(rolled.strays, 0U) << name_of(field);
            }
}

TEST(TravelOrder, TwoTravelLinesInTheWrongOrderDoNotTurnTravelAround) {
    Script script = script_of({});
    std::vector<std::size_t> travel;
    for (std::size_t i = 0; i < script.events().size() && travel.size() < 2; ++i)
        if (script.events()[i].record.name == dropledger::droplog::LineName::travel)
            travel.push_back(i);
    std::swap(script.events()[travel[0]], script.events()[travel[1]]);
    const Fed fed = script.feed();
    EXPECT_EQ(fed.ledger->direction(), 1);
    EXPECT_EQ(fed.of(0, 1).counts(), numbers_of({}).counts);
}

// A beginning of more than two metres the wrong way: the end of the segment says which way it was,
// and a second pass uses that.
TEST(TravelOrder, ASecondPassKnowsTheDirectionThatTheWholeSegmentHad) {
    for (const int direction : {1, -1}) {
        const Field field{.direction = direction, .back_um = 3'000'000};
        const Script script = script_of(field);
        const Fed first = script.feed();
        EXPECT_TRUE(first.ledger->misdirected());
        EXPECT_EQ(first.ledger->directions(), std::vector<int>{direction});
        const Fed second =
            script.feed({.registrations = {}, .directions = first.ledger->directions()});
        EXPECT_FALSE(second.ledger->misdirected());
        EXPECT_EQ(second.ledger->direction(), direction);
        const auto counts = second.of(0, 1).counts();
        EXPECT_EQ(std::count(counts.begin(), counts.end(), 0U), 25);
    }
}

TEST(TravelOrder, EveryBootHasItsOwnDirection) {
    Script script = script_of({.drops = 40});
    script.reboot();
    Script second = script_of({.drops = 40, .direction = -1});
    for (const auto& event : second.events())
        script.events().push_back(event);
    const Fed fed = script.feed();
    EXPECT_EQ(fed.ledger->directions(), (std::vector<int>{1, -1}));
    EXPECT_EQ(fed.ledger->direction(), 1); // they differ: places are told in the way of travel
    const auto counts = fed.of(0, 1).counts();
    EXPECT_EQ(counts.size(), 80U);
    EXPECT_EQ(std::count(counts.begin(), counts.end(), 0U), 6);
    EXPECT_EQ(fed.of(0, 1).entries.front().drop.start, 0U);
    EXPECT_EQ(fed.of(0, 1).entries.back().drop.start, 1U);
}

TEST(TravelJumps, AreLeftOutAndCounted) {
    const Numbers plain = numbers_of({});
    for (const std::int64_t by_um :
         {std::int64_t{900'000'000'000'000'000}, std::int64_t{40'000'000},
          std::int64_t{-900'000'000'000'000'000}}) {
        Script script = script_of({});
        std::size_t travel = 0;
        for (auto& event : script.events())
            if (event.record.name == dropledger::droplog::LineName::travel && ++travel % 50 == 7)
                event.record.position_um = by_um;
        const Fed fed = script.feed();
        EXPECT_GT(fed.ledger->travelled().jumps, 30U) << by_um;
        EXPECT_FALSE(fed.ledger->travelled().jumps_at.empty());
        EXPECT_EQ(fed.ledger->travelled().set_anew, 0U) << by_um;
        EXPECT_EQ(fed.of(0, 1).counts(), plain.counts) << by_um;
    }
}

TEST(TravelJumps, APositionThatIsSetAnewBeginsANewSegment) {
    Script script = script_of({.drops = 100});
    const std::size_t half = script.events().size() / 2;
    for (std::size_t i = half; i < script.events().size(); ++i)
        script.events()[i].record.position_um += 5'000'000'000;
    const Fed fed = script.feed();
    EXPECT_EQ(fed.ledger->travelled().set_anew, 1U);
    EXPECT_EQ(fed.of(0, 1).ends.size(), 2U);
    EXPECT_EQ(fed.of(0, 1).entries.size(), 100U);
    // two or three drops stand where the one travel ends and the other begins
    const auto counts = fed.of(0, 1).counts();
    EXPECT_NEAR(static_cast<double>(std::count(counts.begin(), counts.end(), 0U)), 8.0, 3.0);
}

// Every one of these took time in the square of its length.
TEST(HostileTravel, CostsWhatItsLinesCost) {
    Script back; // landings in reverse order of place, all in one second
    for (int i = 0; i < 200'000; ++i) {
        back.travel(i * 4, -i * 20);
        back.pulse(i * 4 + 1);
    }
    EXPECT_EQ(back.feed().of(0, 1).landings.size(), 200'000U);

    Script late; // every second line nearly a second late
    for (int i = 0; i < 200'000; ++i)
        late.pulse(i % 2 == 0 ? i : i + 900'000);
    EXPECT_EQ(late.feed().ledger->channels().at(0).gates[0].tally().pulses, 200'000U);

    Script drops; // commanded from the far end to the near one, and all for one place
    drops.travel(0, 0);
    drops.travel(1'000'000, 250'000);
    for (int i = 0; i < 100'000; ++i)
        drops.drop(1'000'000 + i, static_cast<std::uint32_t>(i), 1'000'000 - 9 * i);
    for (int i = 0; i < 100'000; ++i)
        drops.drop(1'100'000 + i, static_cast<std::uint32_t>(i), 1'000'000);
    for (int i = 1; i < 1'000; ++i) {
        drops.pulse(1'200'000 + i * 100'000);
        drops.travel(1'200'000 + i * 100'000, 250'000 + i * 25'000);
    }
    EXPECT_EQ(drops.feed().of(0, 1).entries.size(), 200'000U);
}
