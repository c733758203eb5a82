#include "analysis/sampling/sampling_plan.hpp"

#include "analysis/base/text.hpp"
#include "analysis/sampling/diagonal_rule.hpp"
#include "analysis/sampling/published_tables.hpp"

#include <gtest/gtest.h>

#include <string>

using namespace dropledger;
using namespace dropledger::batch;

namespace {

const std::string letters = "ABCDEFGHJKLMNPQR";

// A lot size that has this letter at level II is hard to find for each letter; level III and I
// help.
struct LotAndLevel {
    std::int64_t lot;
    const char* level;
};
constexpr LotAndLevel large_lots[] = {
    {8, "I"},        {15, "II"},      {25, "II"},      {50, "II"},
    {90, "II"},      {150, "II"},     {280, "II"},     {500, "II"},
    {1200, "II"},    {3200, "II"},    {10'000, "II"},  {35'000, "II"},
    {150'000, "II"}, {500'000, "II"}, {600'000, "II"}, {600'000, "III"},
};

struct Law {
    Severity severity;
    std::vector<std::string> diagonal; // Ac/Re, or "down" and "up" for the arrows
    std::vector<std::int64_t> sizes;
};

const std::vector<std::int64_t> full_sizes{2,  3,   5,   8,   13,  20,  32,   50,
                                           80, 125, 200, 315, 500, 800, 1250, 2000};
const Law laws[] = {
    {Severity::normal,
     {"0/1", "up", "down", "1/2", "2/3", "3/4", "5/6", "7/8", "10/11", "14/15", "21/22"},
     full_sizes},
    {Severity::tightened,
     {"down", "0/1", "down", "down", "1/2", "2/3", "3/4", "5/6", "8/9", "12/13", "18/19"},
     full_sizes},
    {Severity::reduced,
     {"0/1", "up", "down", "0/2", "1/3", "1/4", "2/5", "3/6", "5/8", "7/10", "10/13"},
     {2, 2, 2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800}},
};

// The cell that the diagonal rule gives, arrows followed.
std::string by_rule(const Law& law, std::size_t letter, std::size_t aql) {
    for (;;) {
        const auto place = static_cast<int>(letter + aql) - 9;
        const std::string& found = place < 0    ? std::string("down")
                                   : place > 10 ? std::string("up")
                                                : law.diagonal[static_cast<std::size_t>(place)];
        if (found == "down")
            ++letter;
        else if (found == "up")
            --letter;
        else
            return std::to_string(law.sizes.at(letter)) + ":" + found;
    }
}

} // namespace

// The rule was compared with the published copy cell by cell; here it guards the files.
TEST(SamplingPlan, FollowsTheDiagonalRuleInEveryPublishedCell) {
    int cells = 0;
    for (const Law& law : laws) {
        const auto lines =
            split(published_table("single-" + std::string(word_of(law.severity))), '\n');
        for (const auto line : lines) {
            const auto fields = split(line, ',');
            const auto letter = letters.find(fields[0]);
            if (fields.size() != 11 || letter == std::string::npos)
                continue;
            for (std::size_t aql = 0; aql < 10; ++aql) {
                EXPECT_EQ(fields[aql + 1], by_rule(law, letter, aql)) << line;
                ++cells;
            }
        }
    }
    EXPECT_EQ(cells, 3 * 16 * 10);
}

TEST(SamplingPlan, ReadsTheSameCellsThroughLotAndLevel) {
    for (const Law& law : laws)
        for (std::size_t letter = 0; letter < letters.size(); ++letter)
            for (std::size_t aql = 0; aql < 10; ++aql) {
                const auto [lot, level] = large_lots[letter];
                const auto plan = single_plan({lot, level, table_aqls()[aql], law.severity});
                ASSERT_TRUE(plan);
                EXPECT_EQ(plan->letter, letters[letter]);
                const std::string cell = by_rule(law, letter, aql);
                const auto size = std::stoll(cell);
                EXPECT_EQ(plan->n, std::min<std::int64_t>(size, lot));
                EXPECT_EQ(plan->whole_lot, size >= lot);
                EXPECT_EQ(cell.substr(cell.find(':') + 1),
                          std::to_string(plan->accept) + "/" + std::to_string(plan->reject));
            }
}

// MIL-STD-105E table I, cells seen in a public copy; every row's two ends at several levels.
TEST(SamplingPlan, HasThePublishedCodeLetters) {
    struct Row {
        std::int64_t from, to;
        const char* letters; // S-1 S-2 S-3 S-4 I II III
    };
    const char* const levels[] = {"S-1", "S-2", "S-3", "S-4", "I", "II", "III"};
    for (const Row& row :
         {Row{2, 8, "AAAAAAB"}, Row{9, 15, "AAAAABC"}, Row{16, 25, "AABBBCD"},
          Row{26, 50, "ABBCCDE"}, Row{51, 90, "BBCCCEF"}, Row{91, 150, "BBCDDFG"},
          Row{151, 280, "BCDEEGH"}, Row{281, 500, "BCDEFHJ"}, Row{501, 1200, "CCEFGJK"},
          Row{1201, 3200, "CDEGHKL"}, Row{3201, 10000, "CDFGJLM"}, Row{10001, 35000, "CDFHKMN"},
          Row{35001, 150000, "DEGJLNP"}, Row{150001, 500000, "DEGJMPQ"},
          Row{500001, 9000000, "DEHKNQR"}})
        for (std::size_t level = 0; level < 7; ++level) {
            EXPECT_EQ(*code_letter(row.from, levels[level]), row.letters[level]) << row.from;
            EXPECT_EQ(*code_letter(row.to, levels[level]), row.letters[level]) << row.to;
        }
}

TEST(SamplingPlan, ComputesTheCellsThatAreNotAtHandByTheRuleThatAllOthersFollow) {
    for (const Law& law : laws)
        for (std::size_t letter = 0; letter < letters.size(); ++letter)
            for (std::size_t aql = 0; aql < 10; ++aql) {
                const auto found = plan_by_rule(letters[letter], table_aqls()[aql], law.severity);
                ASSERT_TRUE(found);
                EXPECT_EQ(std::to_string(found->n) + ":" + std::to_string(found->accept) + "/" +
                              std::to_string(found->reject),
                          by_rule(law, letter, aql));
            }
    struct Cell {
        std::int64_t lot;
        double aql;
        std::int64_t n, accept, reject;
    };
    // MIL-STD-105E table II-A (from memory): 10 % at C, H, K and M; 0.065 at L, 0.010 at Q.
    for (const Cell& cell :
         {Cell{25, 10.0, 5, 1, 2}, Cell{500, 10.0, 50, 10, 11}, Cell{3200, 10.0, 125, 21, 22},
          Cell{35'000, 10.0, 125, 21, 22}, Cell{10'000, 0.065, 200, 0, 1},
          Cell{500'000, 0.010, 1250, 0, 1}, Cell{600'000, 0.010, 1250, 0, 1}}) {
        const auto plan = single_plan({cell.lot, "II", cell.aql, Severity::normal});
        ASSERT_TRUE(plan);
        EXPECT_TRUE(plan->computed);
        EXPECT_EQ(plan->n, cell.n) << cell.lot << " " << cell.aql;
        EXPECT_EQ(plan->accept, cell.accept);
        EXPECT_EQ(plan->reject, cell.reject);
    }
    EXPECT_FALSE(single_plan({280, "II", 1.0, Severity::normal})->computed);
    for (const double aql : rule_aqls())
        for (const Law& law : laws)
            for (const char letter : letters)
                EXPECT_TRUE(plan_by_rule(letter, aql, law.severity)) << letter << " " << aql;
    // Arrows out of the table lead the other way: A at 10 down to C, R at 0.015 up to P.
    EXPECT_EQ(plan_by_rule('A', 10.0, Severity::normal)->n, 5);
    EXPECT_EQ(plan_by_rule('R', 0.015, Severity::normal)->n, 800);
    EXPECT_FALSE(plan_by_rule('A', 15.0, Severity::normal));
}

TEST(SamplingPlan, RefusesWhatTheTablesDoNotHold) {
    EXPECT_FALSE(code_letter(1, "II"));
    EXPECT_FALSE(code_letter(100, "IV"));
    EXPECT_FALSE(code_letter(100, "lot_to"));
    EXPECT_FALSE(single_plan({100, "II", 15.0, Severity::normal}));
    EXPECT_NE(single_plan({100, "II", 2.0, Severity::normal}).error().remedy.find("0.65"),
              std::string::npos);
    EXPECT_FALSE(parse_severity("severe"));
    EXPECT_EQ(*parse_severity("reduced"), Severity::reduced);
}

// MIL-STD-105E 10.1.4 (rule from memory): letter E, AQL 6.5, reduced: 5, 1/3.
TEST(SamplingPlan, AcceptsInTheGapAndEndsReducedInspection) {
    const auto plan = single_plan({90, "II", 6.5, Severity::reduced});
    ASSERT_TRUE(plan);
    EXPECT_EQ(plan->n, 5);
    EXPECT_EQ(judge(*plan, 1), LotOutcome::accepted);
    EXPECT_EQ(judge(*plan, 2), LotOutcome::accepted_ends_reduced);
    EXPECT_EQ(judge(*plan, 3), LotOutcome::not_accepted);
    EXPECT_THROW(static_cast<void>(judge(*plan, 6)), BrokenInvariant);
}
