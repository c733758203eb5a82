#include "analysis/field/audit.hpp"
#include "analysis/field/input/findings.hpp"

#include <gtest/gtest.h>

#include <algorithm>

namespace dropledger::field {
namespace {

std::vector<FieldDrop> going_north(std::size_t count) {
    std::vector<FieldDrop> drops(count);
    for (std::size_t i = 0; i < count; ++i) {
        drops[i].drop = static_cast<std::int64_t>(i);
        drops[i].at = {0.0, 0.2 * static_cast<double>(i)};
        drops[i].seen = 1;
    }
    return drops;
}

Result<Findings> findings(const std::string& text) {
    Field field;
    field.lines[{3, 2}] = Line(going_north(5));
    field.row_names[2] = "A2";
    StringSource source(text);
    return read_findings(source, "found.csv", field);
}

TEST(Findings, AreReadFromAWalkingListWithItsLastColumnFilledIn) {
    const auto found = findings("stop;pass;row;first_drop;last_drop;found\n1;3;A2;0;4;none\n"
                                "2;3;2;0;1;3\n3;3;2;2;2;\n");
    ASSERT_TRUE(found) << found.error().message();
    ASSERT_EQ(found->size(), 2U);
    EXPECT_TRUE(found->at(0).is_missing());
    EXPECT_EQ(found->at(1).seeds, 3);
    for (const char* const bad : {"3;2;0;4;perhaps", "4;2;0;4;none", "3;2;4;0;none"})
        EXPECT_FALSE(findings(std::string("pass;row;first_drop;last_drop;found\n") + bad + "\n"));
}

// 2026-11-26: a phone writes "None", and the whole night was refused for it.
TEST(Findings, AreReadInCapitalsToo) {
    const auto found =
        findings("pass,row,first_drop,last_drop,found\n3,2,0,1,None\n3,2,2,2,SEED\n");
    ASSERT_TRUE(found) << found.error().message();
    EXPECT_TRUE(found->at(0).is_missing());
    EXPECT_FALSE(found->at(1).is_missing());
    for (const char* const good : {"none", " Yes ", "0", "12"})
        EXPECT_TRUE(is_finding(good)) << good;
    for (const char* const bad : {"", "-5", "perhaps", "1.5"})
        EXPECT_FALSE(is_finding(bad)) << bad;
}

struct Silence {
    std::int64_t pass;
    std::size_t first;
    std::size_t last;
};

// Constructed: four passes of 400 drops a row, two silent drops and the silences given in each.
void sow(Field& field, std::int64_t row, const std::vector<Silence>& silences) {
    for (std::int64_t pass = 1; pass <= 4; ++pass) {
        auto drops = going_north(400);
        for (FieldDrop& drop : drops)
            drop.at.x = 0.5 * static_cast<double>(row) + 4.0 * static_cast<double>(pass);
        drops[37].seen = drops[311].seen = 0;
        for (const Silence& one : silences)
            if (one.pass == pass)
                for (std::size_t i = one.first; i <= one.last; ++i) {
                    drops[i].seen = 0;
                    drops[i].alert = i == one.first + 2;
                }
        field.lines[{pass, row}] = Line(drops);
        field.drops += 400;
    }
}

// Rows 1 and 2 fall silent together twice, row 3 three times by itself; row 4 is sound.
Field night() {
    Field field;
    field.geographic = false;
    field.has_time = false;
    const std::vector<Silence> together{{1, 100, 140}, {3, 200, 230}};
    sow(field, 1, together);
    sow(field, 2, together);
    sow(field, 3, {{1, 150, 170}, {2, 150, 180}, {4, 50, 90}});
    sow(field, 4, {});
    return field;
}

FieldAudit judged_with(const Findings& findings) {
    FieldOptions options;
    options.findings = findings;
    return audit_field(night(), options);
}

std::int64_t gaps_judged(const FieldAudit& audit, std::int64_t row, Judgement judgement) {
    return std::count_if(audit.gaps.begin(), audit.gaps.end(), [&](const Gap& gap) {
        return gap.key.row == row && gap.drops() > 5 && judged(gap.missing) == judgement;
    });
}

TEST(Looks, TellOfAllRowsThatFellSilentTogether) {
    const FieldAudit open = judged_with({});
    ASSERT_TRUE(open.dig);
    EXPECT_EQ(open.dig->rows, 2);
    EXPECT_EQ(open.dig->alerts, 4);
    EXPECT_EQ(gaps_judged(open, 2, Judgement::unknown), 2);
    for (const bool seed : {false, true}) {
        const Finding found{1, 1, 100, 140, 0, seed};
        const FieldAudit told = judged_with({found});
        const Judgement judgement = seed ? Judgement::sensor : Judgement::missing;
        EXPECT_EQ(gaps_judged(told, 1, judgement), 2);
        EXPECT_EQ(gaps_judged(told, 2, judgement), 2);
        EXPECT_EQ(gaps_judged(told, 3, Judgement::unknown), 3); // nobody looked there
    }
}

TEST(Looks, SettleAsManyAlertsAsTheReportSays) {
    FieldAudit audit = judged_with({});
    Findings findings;
    while (audit.dig) {
        const Dig dig = *audit.dig;
        const Gap& gap = audit.gaps[dig.gap];
        const auto before = audit.alerts_judged(Judgement::unknown);
        findings.push_back({gap.key.pass, gap.key.row, gap.first_drop, gap.last_drop, 0, false});
        audit = judged_with(findings);
        EXPECT_EQ(before - audit.alerts_judged(Judgement::unknown), dig.alerts);
        ASSERT_LT(findings.size(), 10U);
    }
    EXPECT_EQ(audit.alerts_judged(Judgement::unknown), 0);
    EXPECT_EQ(findings.size(), 2U); // the rows together, and row 3
}

TEST(Looks, ThatContradictEachOtherHoldOnlyWhereTheyWereMade) {
    const FieldAudit audit = judged_with({{1, 3, 150, 170, 0, false}, {2, 3, 150, 180, 0, true}});
    EXPECT_EQ(gaps_judged(audit, 3, Judgement::missing), 1);
    EXPECT_EQ(gaps_judged(audit, 3, Judgement::sensor), 1);
    EXPECT_EQ(gaps_judged(audit, 3, Judgement::unknown), 1);
}

TEST(Looks, CountSeedsAgainstThoseThatLack) {
    const FieldAudit audit = judged_with({{4, 3, 50, 90, 20, false}}); // 20 of 41
    const auto gap = std::find_if(audit.gaps.begin(), audit.gaps.end(), [](const Gap& one) {
        return one.key == LineKey{4, 3} && one.drops() == 41;
    });
    ASSERT_NE(gap, audit.gaps.end());
    EXPECT_NEAR(*gap->missing.best, 21.0 / 41.0, 1e-9);
    EXPECT_EQ(gaps_judged(audit, 3, Judgement::unknown), 3);
}

} // namespace
} // namespace dropledger::field
