// An error is handed on with its place, fact and remedy, whichever way.
#include "analysis/base/results.hpp"

#include <gtest/gtest.h>

#include <string>
#include <vector>

using namespace dropledger;

namespace {

Result<int> halved(int number) {
    if (number % 2 != 0)
        return input_error("line 3", std::to_string(number) + " is odd", "give an even number");
    return number / 2;
}

} // namespace

TEST(Error, IsMadeForTheOneWhoMustAct) {
    EXPECT_EQ(exit_status(usage_error("a", "b").kind), 64);
    EXPECT_EQ(exit_status(input_error("a", "b").kind), 65);
    EXPECT_EQ(exit_status(device_error("a", "b").kind), 74);
    EXPECT_EQ(input_error("log:3", "it is odd", "mend it").message(), "log:3: it is odd; mend it");
}

TEST(Result, GoesThroughStepsUpToTheFirstThatFails) {
    EXPECT_EQ(*halved(12).and_then(halved), 3);
    EXPECT_EQ(halved(10).and_then(halved).error().what, "5 is odd");
    EXPECT_EQ(halved(7).and_then(halved).error().what, "7 is odd");
}

TEST(Result, IsMappedOnlyWhereItIsGood) {
    const auto words = [](int number) { return std::to_string(number); };
    EXPECT_EQ(*halved(8).transform(words), "4");
    EXPECT_EQ(halved(9).transform(words).error().where, "line 3");
}

TEST(Results, HaveTheErrorOfTheFirstThatFailed) {
    EXPECT_FALSE(first_error(halved(2), halved(4)));
    const auto error = first_error(halved(2), halved(5), halved(7));
    ASSERT_TRUE(error);
    EXPECT_EQ(error->what, "5 is odd");
}

TEST(Results, AreAllValuesOrTheFirstError) {
    EXPECT_EQ(*each(std::vector{2, 4, 6}, halved), (std::vector{1, 2, 3}));
    EXPECT_TRUE(each(std::vector<int>{}, halved)->empty());
    EXPECT_EQ(each(std::vector{2, 3, 5}, halved).error().what, "3 is odd");
}
