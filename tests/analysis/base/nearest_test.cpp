#include "analysis/base/nearest.hpp"

#include <gtest/gtest.h>

#include <string>

using namespace dropledger;

namespace {
const std::vector<std::string_view> known{"miss_index", "multiples_index", "cv", "rate_error"};
} // namespace

TEST(Nearest, FindsWhatALetterOrTwoAway) {
    EXPECT_EQ(nearest("mis_index", known), "miss_index");
    EXPECT_EQ(nearest("miss_indxe", known), "miss_index");
    EXPECT_EQ(nearest("audti", {"audit", "demo"}), "audit");
    EXPECT_EQ(nearest("multiple_index", known), "multiples_index");
    EXPECT_EQ(nearest("rate_error", known), "rate_error");
}

TEST(Nearest, NamesNothingForAWordThatIsFarFromAll) {
    EXPECT_FALSE(nearest("seeds", known));
    EXPECT_FALSE(nearest("cw", known));
    EXPECT_FALSE(nearest("", known));
    EXPECT_FALSE(nearest("miss_index", {}));
    EXPECT_FALSE(nearest(std::string(100'000, 'm'), known));
}
