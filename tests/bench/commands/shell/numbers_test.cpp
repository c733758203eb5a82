#include "bench/commands/shell/numbers.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::cli;

namespace {

double read(const char* option, const char* typed) {
    const auto number = typed_number(option, typed);
    EXPECT_TRUE(number) << typed << ": " << (number ? "" : number.error().message());
    return number ? *number : -1.0;
}

std::string refusal(const char* option, const char* typed) {
    const auto number = typed_number(option, typed);
    EXPECT_FALSE(number) << typed;
    return number ? "" : number.error().message();
}

} // namespace

TEST(TypedNumber, IsInTheOptionsUnitWhereNoneIsTyped) {
    EXPECT_DOUBLE_EQ(read("--spacing-mm", "180"), 180.0);
    EXPECT_DOUBLE_EQ(read("--speed-mps", "0.25"), 0.25);
    EXPECT_DOUBLE_EQ(read("--pace", "1e3"), 1000.0);
}

TEST(TypedNumber, MayHaveADecimalComma) {
    EXPECT_DOUBLE_EQ(read("--speed-mps", "0,25"), 0.25);
    EXPECT_DOUBLE_EQ(read("--speed-mps", "0,125"), 0.125);
    EXPECT_DOUBLE_EQ(read("--spacing-mm", "180,5"), 180.5);
}

TEST(TypedNumber, AsksWhereACommaMayPartThousands) {
    EXPECT_NE(refusal("--drops", "1,000").find("write 1.000 or 1000"), std::string::npos);
    EXPECT_NE(refusal("--drops", "1,000,000").find("not a number"), std::string::npos);
    EXPECT_NE(refusal("--spacing-mm", "1.000,5").find("not a number"), std::string::npos);
}

TEST(TypedNumber, TakesAnotherUnitOfTheSameKind) {
    EXPECT_DOUBLE_EQ(read("--spacing-mm", "180mm"), 180.0);
    EXPECT_DOUBLE_EQ(read("--spacing-mm", "18 cm"), 180.0);
    EXPECT_DOUBLE_EQ(read("--spacing-mm", "0,18m"), 180.0);
    EXPECT_DOUBLE_EQ(read("--speed-mps", "0,9 km/h"), 0.25);
    EXPECT_DOUBLE_EQ(read("--gate-fall-us", "60ms"), 60000.0);
    EXPECT_DOUBLE_EQ(read("--rate-per-m", "20/m"), 20.0);
}

TEST(TypedNumber, RefusesAUnitOfAnotherKind) {
    EXPECT_NE(refusal("--spacing-mm", "180ms").find("unit `ms` is not known here"),
              std::string::npos);
    EXPECT_NE(refusal("--spacing-mm", "180ms").find("give it in mm"), std::string::npos);
    EXPECT_NE(refusal("--drops", "500x").find("not a number"), std::string::npos);
    EXPECT_NE(refusal("--rate-per-m", "20mm").find("per metre"), std::string::npos);
}

TEST(TypedNumber, RefusesWhatIsNone) {
    for (const char* typed : {"", "wide", "mm", "--5", "1-2", "nan", "inf", "0x10"})
        EXPECT_NE(refusal("--spacing-mm", typed), "") << typed;
}
