#include "tests/analysis/field/simulated_field.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace dropledger::field {
namespace {

template <class Moved> void move(Line& line, Moved moved) {
    std::vector<FieldDrop> drops = line.drops();
    for (FieldDrop& drop : drops)
        drop.at = moved(drop.at);
    line = Line(drops);
}

TEST(FieldParts, TellFieldsApartByTheGroundBetweenThem) {
    SimulatedField made = simulate_field({{}, {}}, {.passes = 6, .drops = 100}, 2);
    for (auto& [key, line] : made.field.lines) {
        const double east_m = key.pass >= 4 ? 200.0 : 0.0;
        move(line, [&](const Place& at) { return Place{at.x + east_m, at.y}; });
    }
    const FieldAudit audit = audit_field(made.field, {});
    ASSERT_EQ(audit.parts.size(), 2U);
    EXPECT_EQ(audit.parts[0].last_pass, 3);
    EXPECT_EQ(audit.parts[1].first_pass, 4);
    EXPECT_EQ(audit.parts[0].drops + audit.parts[1].drops, made.field.drops);
    EXPECT_NEAR(audit.parts[0].seeds_lost_high + audit.parts[1].seeds_lost_high,
                audit.seeds_lost_high, 1e-9);
}

// constructed: long fields side by side that run north-east, so that the boxes round them overlap
TEST(FieldParts, TellFieldsApartThatLieAslant) {
    SimulatedField made = simulate_field({{}, {}}, {.passes = 6, .drops = 900}, 2);
    for (auto& [key, line] : made.field.lines) {
        const double apart_m = key.pass >= 4 ? 50.0 : 0.0;
        move(line, [&](const Place& at) {
            const double east_m = at.x + apart_m;
            return Place{(east_m + at.y) * std::sqrt(0.5), (at.y - east_m) * std::sqrt(0.5)};
        });
    }
    EXPECT_EQ(audit_field(made.field, {}).parts.size(), 2U);
}

TEST(FieldParts, KeepPassesTogetherThatCrossOthers) {
    SimulatedField made = simulate_field({{}, {}}, {.passes = 6, .drops = 900}, 2);
    for (auto& [key, line] : made.field.lines)
        if (key.pass == 6) // a headland's, across the ends of the others
            move(line, [&](const Place& at) { return Place{at.y - 80.0, 175.0 + at.x}; });
    EXPECT_EQ(audit_field(made.field, {}).parts.size(), 1U);
}

} // namespace
} // namespace dropledger::field
