#include "bench/station/server/request.hpp"

#include <gtest/gtest.h>

using namespace dropledger::station;

TEST(Decoded, TakesWhatABrowserSends) {
    EXPECT_EQ(decoded("a%20b%C3%A9", false), "a b\xC3\xA9");
    EXPECT_EQ(decoded("a+b", true), "a b");
    EXPECT_EQ(decoded("a+b", false), "a+b");
}

TEST(Decoded, RefusesHalfAnEscapeAndNul) {
    for (const char* const bad : {"%", "%4", "%zz", "a%0", "%00", "ok%00ok"})
        EXPECT_EQ(decoded(bad, false), std::nullopt) << bad;
}

TEST(Encoded, ComesBackAsItWas) {
    const std::string hostile = "a/b?c=d&e#f%g \"<>\xC3\xA9\n..";
    EXPECT_EQ(decoded(encoded(hostile), false), hostile);
    EXPECT_EQ(encoded(hostile).find_first_of("/?&#\"<> \n"), std::string::npos);
}

TEST(Fields, KeepsSeveralValuesOfOneName) {
    const Fields fields = Fields::parse("unit=A&unit=B&empty=&blank=+%20&=x&bad=%GG");
    EXPECT_EQ(fields.values("unit"), (std::vector<std::string>{"A", "B"}));
    EXPECT_EQ(fields.value("empty"), "");
    EXPECT_EQ(fields.filled("blank"), std::nullopt);
    EXPECT_EQ(fields.value("bad"), std::nullopt);
    EXPECT_EQ(fields.value("lacking"), std::nullopt);
}
