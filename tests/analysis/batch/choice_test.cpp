#include "analysis/batch/chain/choice.hpp"

#include <gtest/gtest.h>

#include <map>
#include <set>

using namespace dropledger::batch;

namespace {

std::vector<std::string> serials(int count) {
    std::vector<std::string> all;
    for (int i = 1; i <= count; ++i)
        all.push_back("U-" + std::to_string(i));
    return all;
}

} // namespace

// First draws of seed 1234567: a published test vector, from memory.
TEST(Choice, DrawsTheGeneratorsPublishedNumbers) {
    SplitMix64 random(1234567);
    for (const std::uint64_t expected :
         {6457827717110365317U, 3203168211198807973U, 9817491932198370423U, 4593380528125082431U})
        EXPECT_EQ(random.bits(), expected);
}

TEST(Choice, CanBeRedoneFromItsSeed) {
    const auto all = serials(280);
    const auto chosen = chosen_units(all, 32, 42);
    EXPECT_EQ(chosen, chosen_units(all, 32, 42));
    EXPECT_NE(chosen, chosen_units(all, 32, 43));
    EXPECT_EQ(chosen.size(), 32U);
    EXPECT_EQ(std::set<std::string>(chosen.begin(), chosen.end()).size(), 32U);
    // A longer choice begins with the shorter one.
    const auto more = chosen_units(all, 50, 42);
    EXPECT_TRUE(std::equal(chosen.begin(), chosen.end(), more.begin()));
    // Recomputed by a few lines of Python from the description of the method.
    EXPECT_EQ(chosen_units(serials(10), 4, 7),
              (std::vector<std::string>{"U-8", "U-1", "U-5", "U-7"}));
}

// 12 000 choices of 2 out of 4: each ordered pair is expected 1 000 times, 4 standard errors are
// 121.
TEST(Choice, PrefersNoUnit) {
    std::map<std::vector<std::string>, int> seen;
    for (std::uint64_t seed = 0; seed < 12'000; ++seed)
        ++seen[chosen_units(serials(4), 2, seed)];
    EXPECT_EQ(seen.size(), 12U);
    for (const auto& [pair, times] : seen)
        EXPECT_NEAR(times, 1000, 121) << pair[0] << pair[1];
}

TEST(Choice, TakesAllWhereTheSampleIsTheBatch) {
    EXPECT_EQ(chosen_units(serials(3), 5, 1).size(), 3U);
    EXPECT_TRUE(chosen_units(serials(3), 0, 1).empty());
    EXPECT_TRUE(chosen_units(serials(0), 5, 1).empty());
}

// sha256sum of "U-1\nU-2\n".
TEST(Choice, HashesTheSerialsInTheirOrder) {
    EXPECT_EQ(serials_hash(serials(2)),
              "bf0db78102ba8881f865391120826f97aede0eadc8fc95e095e7738ba789571a");
    EXPECT_NE(serials_hash(std::vector<std::string>{"U-2", "U-1"}), serials_hash(serials(2)));
}
