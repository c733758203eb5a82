#include "analysis/base/fall.hpp"
#include "analysis/field/audit.hpp"
#include "analysis/field/input/ground.hpp"
#include "analysis/field/judge/silent_chance.hpp"
#include "analysis/report/json/field_json.hpp"
#include "analysis/report/json/geojson.hpp"
#include "tests/analysis/field/simulated_field.hpp"

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include <algorithm>
#include <map>

namespace dropledger::field {
namespace {

// One pass of one row, '.' = seen, 'o' = silent, 200 mm apart due north.
Field row_of(const std::string& drops) {
    Field field;
    field.geographic = false;
    Line& line = field.lines[{1, 1}];
    for (std::size_t i = 0; i < drops.size(); ++i) {
        FieldDrop drop;
        drop.drop = static_cast<std::int64_t>(i);
        drop.at = {0.0, 0.2 * static_cast<double>(i)};
        drop.seen = drops[i] == '.' ? 1 : 0;
        line.push_back(drop);
    }
    field.drops = static_cast<std::int64_t>(line.size());
    return field;
}

std::vector<Gap> gaps_of(const Field& field) {
    return find_gaps(field, {1, 1}, field.lines.at({1, 1}).drops());
}

FieldOptions with_efficiencies(GateEfficiencies efficiencies) {
    FieldOptions options;
    options.gate_efficiencies = std::move(efficiencies);
    return options;
}

GateEfficiency measured(double share) {
    GateEfficiency efficiency(share);
    efficiency.source = "bench";
    return efficiency;
}

TEST(Gaps, MeasureTheBareGroundBetweenTheSeedsAroundThem) {
    const auto gaps = gaps_of(row_of("..o..ooo..oo"));
    ASSERT_EQ(gaps.size(), 3U);
    EXPECT_NEAR(gaps[0].length_m, 0.4, 1e-12);
    EXPECT_NEAR(gaps[1].length_m, 0.8, 1e-12);
    EXPECT_EQ(gaps[1].first_drop, 5);
    EXPECT_EQ(gaps[1].last_drop, 7);
    EXPECT_NEAR(gaps[2].length_m, 0.4, 1e-12); // no seed behind it: to its own last drop
    EXPECT_TRUE(gaps[2].at_pass_end);
}

TEST(Gaps, EndWhereTheTableHoldsNoDrop) {
    Field field = row_of("..oooo..");
    change(field.lines.at({1, 1}), [](auto& drops) { drops.erase(drops.begin() + 4); });
    EXPECT_EQ(gaps_of(field).size(), 2U);
}

TEST(Ground, MeasuresOnTheEllipsoid) {
    // WGS 84: a degree of longitude on the equator is a·π/180 = 111319.4908 m [R].
    EXPECT_NEAR(distance_m({0.0, 0.0}, {1.0, 0.0}, true), 111319.4908, 5e-5);
}

TEST(Judge, FollowsFromMissShareAndEfficiencyWhereDropsAreMany) {
    // q = 0.1, e = 0.9: s = 0.19, q/s = 0.526316 (constructed).
    EXPECT_NEAR(missing_when_silent({190'000.0, 1'000'000.0}, 0.1), 0.526316, 1e-4);
    EXPECT_EQ(missing_when_silent({5.0, 100.0}, 0.0), 1.0);
    EXPECT_LT(missing_when_silent({100.0, 1000.0}, 0.1),
              0.2); // no more silent than the gate alone makes
}

TEST(Judge, CannotTellRandomSilenceWithoutEfficiency) {
    SimulatedRow blind;
    blind.efficiency = 0.67;
    SimulatedRow missing;
    missing.miss = 0.33;
    const SimulatedField made = simulate_field({blind, missing, {}}, {}, 11);
    const FieldAudit audit = audit_field(made.field, {});
    for (const Alert& alert : audit.alerts)
        EXPECT_EQ(judged(alert.missing), Judgement::unknown) << alert.key.row << ' ' << alert.drop;
    ASSERT_EQ(audit.causes.size(), 2U);
    EXPECT_EQ(audit.causes[0].kind, causes::CauseKind::meter_or_sensor);
}

TEST(Judge, TellsThemApartWithEfficiency) {
    SimulatedRow blind;
    blind.efficiency = 0.67;
    blind.miss = 0.002;
    SimulatedRow missing;
    missing.miss = 0.33;
    const SimulatedField made = simulate_field({blind, missing, {}}, {}, 11);
    const FieldAudit audit =
        audit_field(made.field, with_efficiencies({{1, measured(0.67)}, {2, measured(0.995)}}));
    for (const Alert& alert : audit.alerts) {
        if (alert.key.row < 3) {
            EXPECT_EQ(judged(alert.missing),
                      alert.key.row == 1 ? Judgement::sensor : Judgement::missing);
        }
    }
    ASSERT_EQ(audit.causes.size(), 2U);
    EXPECT_EQ(audit.causes[0].kind, causes::CauseKind::meter); // costs more
    EXPECT_EQ(audit.causes[1].kind, causes::CauseKind::sensor);
}

TEST(Judge, TakesALastingSilenceForMissingSeed) {
    SimulatedRow empty;
    empty.empty_from_pass = 5;
    const SimulatedField made = simulate_field({empty, {}}, {}, 3);
    const FieldAudit audit = audit_field(made.field, {});
    const auto longest =
        std::max_element(audit.gaps.begin(), audit.gaps.end(),
                         [](const Gap& a, const Gap& b) { return a.drops() < b.drops(); });
    EXPECT_GE(longest->drops(), 240);
    EXPECT_EQ(judged(longest->missing), Judgement::missing);
    ASSERT_FALSE(audit.causes.empty());
    EXPECT_TRUE(names(audit.causes[0], causes::CauseKind::empty_container));
    EXPECT_TRUE(names(audit.causes[0], causes::CauseKind::cable)); // a broken one looks alike
}

TEST(Judge, JudgesNothingWhereTheGateReportedItselfBlocked) {
    SimulatedRow empty;
    empty.empty_from_pass = 5;
    SimulatedField made = simulate_field({empty, {}}, {}, 3);
    made.field.gate_blocked = {{5, 1}, {6, 1}};
    const FieldAudit audit = audit_field(made.field, {});
    for (const Gap& gap : audit.gaps) {
        if (gap.key.row == 1 && gap.key.pass >= 5) {
            EXPECT_EQ(judged(gap.missing), Judgement::unknown) << gap.first_drop;
        }
    }
}

TEST(Judge, TakesTheNeighboursForAnAnswerOnlyUnderAStatedAssumption) {
    SimulatedRow unlike;
    unlike.efficiency = 0.8;
    const SimulatedField made = simulate_field({unlike, {}, {}}, {}, 12);
    const auto of_row_1 = [&](Assumption assumption) {
        return judge_drops(made.field, {.assumption = assumption}).rows.at(1);
    };
    const Neighbours neighbours = of_row_1(Assumption::none).neighbours.value();
    const double least =
        neighbours
            .least_silent_most; // s = 0.2: (s - least)/(s·(1 - least)) and least/s (constructed)
    EXPECT_NEAR(neighbours.missing_if_gates_alike, (0.2 - least) / (0.2 * (1.0 - least)), 0.005);
    EXPECT_NEAR(neighbours.missing_if_meters_alike, least / 0.2, 0.005);
    EXPECT_EQ(judged(of_row_1(Assumption::none).when_silent), Judgement::unknown);
    EXPECT_EQ(judged(of_row_1(Assumption::gates_alike).when_silent), Judgement::missing);
    EXPECT_EQ(judged(of_row_1(Assumption::meters_alike).when_silent), Judgement::sensor);
}

TEST(Judge, SaysWhatPortionsTellAndDoesNotJudgeByThem) {
    SimulatedField made = simulate_field({{.miss = 0.03, .efficiency = 1.0}}, {}, 12);
    for (auto& [key, line] : made.field.lines)
        change(line, [&](auto& drops) {
            for (FieldDrop& drop : drops) {
                drop.target = 5;
                drop.seen *=
                    4; // the gate sees four of five, or 80 %; 0.2^5 = 0.0003 of the portions
                       // as a whole (constructed)
            }
        });
    const RowJudge row = judge_drops(made.field, {}).rows.at(1);
    EXPECT_EQ(judged(row.when_silent), Judgement::unknown); // it may be blind for moments
    ASSERT_EQ(row.notes.size(), 1U);
    EXPECT_NE(row.notes.front().find("one by one"), std::string::npos);
}

// constructed: 1,000 portions of 4, of which 815 seeds lack
TEST(FieldAudit, CountsWhatShortPortionsLack) {
    SimulatedField made =
        simulate_field({{.miss = 0.0, .efficiency = 1.0}}, {.passes = 2, .drops = 500}, 3);
    int taken = 0;
    for (auto& [key, line] : made.field.lines)
        change(line, [&](auto& drops) {
            for (FieldDrop& drop : drops) {
                drop.target = 4;
                drop.seen = taken++ < 815 ? 3 : 4;
            }
        });
    const auto with = [](double efficiency) {
        FieldOptions options;
        options.gate_efficiencies.emplace(1, efficiency);
        return options;
    };
    const FieldAudit known = audit_field(made.field, with(1.0));
    EXPECT_DOUBLE_EQ(known.seeds_lost_low, 815.0);
    EXPECT_DOUBLE_EQ(known.seeds_lost_high, 815.0);
    const FieldAudit unknown = audit_field(made.field, {});
    EXPECT_DOUBLE_EQ(unknown.seeds_lost_low, 0.0);
    EXPECT_DOUBLE_EQ(unknown.seeds_lost_high, 815.0);
    const double seen_of_all = 3185.0 / 4000.0; // a gate that sees just so many: nothing is lost
    const FieldAudit overlooked = audit_field(made.field, with(seen_of_all));
    EXPECT_NEAR(overlooked.seeds_lost_high, 0.0, 1e-6);
}

// constructed: a healthy meter; the gate's efficiency falls from 1 to 0 over six passes
TEST(Judge, DoesNotCallSilenceMissingSeedWhereItGrewByAndBy) {
    const SimulatedField made = simulate_field({{.miss = 0.01, .efficiency = 1.0}}, {}, 5);
    Field field = made.field;
    std::size_t at = 0;
    std::size_t all = 0;
    for (const auto& [key, line] : field.lines)
        all += line.size();
    std::uint32_t state = 1;
    for (auto& [key, line] : field.lines)
        change(line, [&](auto& drops) {
            for (FieldDrop& drop : drops) {
                state = state * 1664525U + 1013904223U;
                const double chance = static_cast<double>(state >> 8U) / 16777216.0;
                if (chance < static_cast<double>(at++) / static_cast<double>(all))
                    drop.seen = 0;
            }
        });
    const Judged found = judge_drops(field, {});
    std::size_t missing = 0;
    std::size_t silent = 0;
    for (const auto& [key, chances] : found.silent)
        for (const Chance& one : chances) {
            ++silent;
            missing += judged(one) == Judgement::missing ? 1U : 0U;
        }
    EXPECT_GT(silent, all / 3);
    EXPECT_LT(missing * 100, silent); // nearly none
    EXPECT_FALSE(found.rows.at(1).notes.empty());
}

TEST(Judge, AveragesOverWhatAnEfficiencyMayBe) {
    SimulatedRow row;
    row.efficiency = 0.8;
    const SimulatedField made = simulate_field({row}, {}, 12);
    GateEfficiency wide = measured(0.8);
    wide.low = 0.7;
    wide.high = 0.9;
    const Chance found =
        judge_drops(made.field, {.efficiencies = {{1, wide}}}).rows.at(1).when_silent;
    EXPECT_LT(found.low, *found.best);
    EXPECT_GT(found.high, *found.best);
}

class Reliable : public testing::TestWithParam<int> {};

TEST_P(Reliable, StatesProbabilitiesThatComeTrue) {
    const ReliabilityTable table = reliability(24, 41, GetParam());
    for (const Reliability& one : table) {
        if (one.stated < 200)
            continue;
        const auto n = static_cast<double>(one.stated);
        EXPECT_NEAR(static_cast<double>(one.missing) / n, one.sum / n, 0.06)
            << one.sum / n << " of " << n;
    }
    EXPECT_GT(table[9].stated, 200);
    EXPECT_GT(table[4].stated, 200);
}

INSTANTIATE_TEST_SUITE_P(SeedsCountedByHand, Reliable, testing::Values(0, 2000));

TEST(FieldCauses, NameTheUnitsAndWhatIsWrongWithThem) {
    std::vector<SimulatedRow> rows(8);
    rows[1].burst = 0.002;
    rows[2].bad_cell_of = 24;
    rows[4].empty_from_pass = 4;
    rows[5].late_drops = 6;
    rows[6].efficiency = 0.8;
    const SimulatedField made = simulate_field(rows, {}, 8);
    const FieldAudit audit = audit_field(made.field, with_efficiencies({{7, 0.8}}));
    using Kind = causes::CauseKind;
    const std::map<std::int64_t, Kind> wanted{{2, Kind::bridging},
                                              {3, Kind::bad_cell},
                                              {5, Kind::empty_container},
                                              {6, Kind::start_loss},
                                              {7, Kind::sensor}};
    EXPECT_EQ(audit.causes.size(), wanted.size());
    for (const FieldCause& cause : audit.causes) {
        ASSERT_TRUE(wanted.contains(cause.row)) << cause.row << key_of(cause.kind);
        EXPECT_TRUE(names(cause, wanted.at(cause.row))) << cause.row << key_of(cause.kind);
    }
}

FieldAudit with_costs(const Costs& costs, double germination) {
    FieldOptions options;
    options.reseed_min_m = 2.0;
    options.germination = germination;
    options.costs = costs;
    return audit_field(row_of(std::string(400, '.') + std::string(20, 'o') + std::string(400, '.')),
                       std::move(options));
}

// constructed: 20 drops lack, 4.2 m; P(missing) of one lasting silence that was short is 0.92
TEST(FieldDecision, WeighsWhatReseedingBringsBackAgainstWhatItTakes) {
    const FieldAudit audit = with_costs({.per_lost_plant = 1.0,
                                         .per_reseeded_metre = 0.2,
                                         .per_gap = 1.0,
                                         .per_seed = 0.01,
                                         .late_value = 0.5},
                                        0.9);
    EXPECT_EQ(audit.reseed.gaps, 1);
    EXPECT_EQ(audit.reseed.seeds, 20);
    const double plants = 0.92 * 20 * 0.9;
    EXPECT_NEAR(*audit.reseed.cost_of_nothing, plants, 1e-9);
    EXPECT_NEAR(*audit.reseed.cost_of_reseeding, 1.0 + 0.2 * 4.2 + 0.2, 1e-9);
    EXPECT_NEAR(*audit.reseed.net_gain, 0.5 * plants - 2.04, 1e-9);
    EXPECT_GT(*audit.reseed.break_even_m, 0.0);
    EXPECT_LT(*audit.reseed.break_even_m, 4.2);
}

TEST(FieldDecision, LeavesAGapThatDoesNotPayAndStillSaysWhatNothingCosts) {
    const FieldAudit audit = with_costs(
        {.per_lost_plant = 0.1, .per_reseeded_metre = 0.2, .per_gap = 1.0, .per_seed = 0.01}, 0.9);
    EXPECT_EQ(audit.reseed.gaps, 0);
    EXPECT_NEAR(*audit.reseed.cost_of_nothing, 0.1 * 0.92 * 20 * 0.9, 1e-9);
}

TEST(FieldDecision, NamesAMissingCostAndGivesNoGainWithoutIt) {
    Costs costs;
    costs.per_lost_plant = 0.1;
    const FieldAudit audit = with_costs(costs, 1.0);
    EXPECT_EQ(audit.reseed.costs_missing.size(), 3U);
    EXPECT_FALSE(audit.reseed.net_gain);
    EXPECT_EQ(audit.reseed.gaps, 1);
}

TEST(FieldJson, HasTheKeysPromisedAndNoProbabilityThatIsNotKnown) {
    Field field = row_of("..o..ooo....");
    change(field.lines.at({1, 1}), [](auto& drops) { drops[2].alert = true; });
    const auto json = nlohmann::json::parse(report::field::to_json(audit_field(field, {})));
    for (const char* const key :
         {"schema", "drops", "rows_bad", "rows", "gaps", "alerts", "causes", "reseed"})
        EXPECT_TRUE(json.contains(key)) << key;
    EXPECT_EQ(json["alerts"][0]["judgement"], "unknown");
    EXPECT_TRUE(json["alerts"][0]["probability_missing"].is_null());
    EXPECT_EQ(json["rows"][0]["silent"], 4);
}

TEST(GeoJson, PutsLongitudeFirstWithSevenDecimalsAndNoCrs) {
    // RFC 7946, sections 3.1.1, 4, 11.2 (from memory).
    Field field = row_of("..oo..");
    field.geographic = true;
    change(field.lines.at({1, 1}), [](auto& drops) {
        for (FieldDrop& drop : drops)
            drop.at = {10.123456789, 52.0 + 1e-6 * static_cast<double>(drop.drop)};
    });
    const auto text = report::field::to_geojson(audit_field(field, {}));
    ASSERT_TRUE(text);
    const auto json = nlohmann::json::parse(*text);
    EXPECT_EQ(json["type"], "FeatureCollection");
    EXPECT_FALSE(json.contains("crs"));
    ASSERT_EQ(json["features"].size(), 2U);
    EXPECT_EQ(json["features"][1]["geometry"]["type"], "LineString");
    EXPECT_EQ(json["features"][1]["geometry"]["coordinates"][0][0], 10.1234568);
    EXPECT_NE(text->find("[10.1234568,52.000002]"), std::string::npos);
}

TEST(GeoJson, CutsALineAtTheAntimeridian) {
    Field field = row_of("..oo..");
    field.geographic = true;
    change(field.lines.at({1, 1}), [](auto& drops) {
        for (FieldDrop& drop : drops)
            drop.at = {drop.drop < 3 ? 179.99999 : -179.99999, 0.0};
    });
    const auto json = nlohmann::json::parse(*report::field::to_geojson(audit_field(field, {})));
    EXPECT_EQ(json["features"][0]["geometry"]["type"], "MultiLineString");
}

TEST(GeoJson, IsRefusedForAPlaneSystem) {
    EXPECT_FALSE(report::field::to_geojson(audit_field(row_of("..o.."), {})));
}

// Common practice, no source: rough figures a person would check a plan against.
TEST(SanityFacts, HoldAsCommonPracticeSaysThem) {
    EXPECT_NEAR(900.0 * 3.0 * 24.0 / 10'000.0, 6.5, 0.05); // 900 m/h over 3 m for 24 h, in ha
    EXPECT_DOUBLE_EQ(10'000.0 / (0.50 * 0.20), 100'000.0); // 50 cm x 20 cm, seeds per ha
    EXPECT_NEAR(0.25 * free_fall_seconds(0.025, 0.0) * 1000.0, 18.0,
                0.5); // mm on at 0.25 m/s, 25 mm fall
}

} // namespace
} // namespace dropledger::field
