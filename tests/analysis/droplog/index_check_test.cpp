// Constructed.
#include "analysis/droplog/index_check.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <numeric>
#include <random>
#include <vector>

using namespace dropledger::droplog;

namespace {

IndexCheck checked(const std::vector<std::uint32_t>& indices) {
    IndexCheck check;
    std::uint64_t line = 100;
    for (const std::uint32_t index : indices)
        check.take(index, line++);
    check.finish();
    return check;
}

std::vector<std::uint32_t> first(std::uint32_t count) {
    std::vector<std::uint32_t> indices(count);
    std::iota(indices.begin(), indices.end(), 0U);
    return indices;
}

} // namespace

TEST(IndexCheck, FindsNothingWhereEveryDropIsThere) {
    for (const std::uint32_t count : {0U, 1U, 2U, 5'000U}) {
        const IndexCheck check = checked(first(count));
        EXPECT_EQ(check.missing(), 0U);
        EXPECT_EQ(check.repeated(), 0U);
        EXPECT_EQ(check.drops(), count);
    }
}

TEST(IndexCheck, TakesDropsALittleOutOfOrder) {
    std::mt19937 random{3};
    for (int round = 0; round < 50; ++round) {
        auto indices = first(4'000);
        for (std::size_t at = 0; at < indices.size(); at += 200)
            std::shuffle(indices.begin() + static_cast<std::ptrdiff_t>(at),
                         indices.begin() + static_cast<std::ptrdiff_t>(at + 200), random);
        const IndexCheck check = checked(indices);
        EXPECT_EQ(check.missing(), 0U);
        EXPECT_EQ(check.repeated(), 0U);
        EXPECT_EQ(check.drops(), 4'000U);
    }
}

TEST(IndexCheck, CountsWhatIsMissingAtTheStartInTheMiddleAndFarApart) {
    auto indices = first(3'000);
    indices.erase(indices.begin() + 500, indices.begin() + 506);
    const IndexCheck middle = checked(indices);
    EXPECT_EQ(middle.missing(), 6U);
    EXPECT_EQ(middle.missing_at(), 100U + 500U);
    EXPECT_EQ(middle.drops(), 3'000U);
    indices = first(3'000);
    indices.erase(indices.begin(), indices.begin() + 200);
    EXPECT_EQ(checked(indices).missing(), 200U);
    EXPECT_EQ(checked(indices).missing_at(), 100U);
    EXPECT_EQ(checked({4'294'967'295U}).missing(), 4'294'967'295U);
    EXPECT_EQ(checked({0, 1, 4'000'000'000U, 5}).missing(), 3'999'999'998U);
    EXPECT_EQ(checked({0, 1, 4'000'000'000U, 5}).repeated(), 1U); // too late to be known as missing
}

TEST(IndexCheck, CountsDropsThatAreThereTwice) {
    const IndexCheck check = checked({0, 1, 3, 3, 2, 1, 4});
    EXPECT_EQ(check.repeated(), 2U);
    EXPECT_EQ(check.repeated_at(), 103U);
    EXPECT_EQ(check.missing(), 0U);
}

// Against plain sets, with holes and repeats anywhere within the window.
TEST(IndexCheck, AgreesWithASetOfAllIndices) {
    std::mt19937 random{7};
    for (int round = 0; round < 200; ++round) {
        std::vector<std::uint32_t> indices;
        for (std::uint32_t index = 0; index < 2'500; ++index) {
            if (random() % 50 == 0)
                continue;
            indices.push_back(index);
            if (random() % 60 == 0)
                indices.push_back(index);
        }
        for (std::size_t i = 0; i + 30 < indices.size(); ++i)
            if (random() % 5 == 0)
                std::swap(indices[i], indices[i + random() % 30]);
        std::vector<std::uint32_t> once = indices;
        std::sort(once.begin(), once.end());
        once.erase(std::unique(once.begin(), once.end()), once.end());
        const IndexCheck check = checked(indices);
        EXPECT_EQ(check.missing(), once.back() + 1 - once.size());
        EXPECT_EQ(check.repeated(), indices.size() - once.size());
    }
}
