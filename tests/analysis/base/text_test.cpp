#include "analysis/base/result.hpp"
#include "analysis/base/text.hpp"
#include "analysis/base/units.hpp"

#include <gtest/gtest.h>

using namespace dropledger;

TEST(Text, RefusesANumberThatIsNotTheWholeText) {
    EXPECT_EQ(parse_int("-42"), -42);
    for (const char* text : {"", " 1", "1 ", "+1", "1.0", "9223372036854775808", "0x1"})
        EXPECT_FALSE(parse_int(text)) << text;
    EXPECT_FALSE(parse_uint("-1"));
    EXPECT_EQ(parse_double("2.5e-3"), 0.0025);
    for (const char* text : {"nan", "inf", "-inf", "1,5", "1e999", ""})
        EXPECT_FALSE(parse_double(text)) << text;
}

TEST(Text, EncodesExactlyWhatTheLogFormatNames) {
    EXPECT_EQ(percent_encode("a,b*c%d\n\xC3\xA4 e"), "a%2Cb%2Ac%25d%0A%C3%A4 e");
    EXPECT_FALSE(percent_decode("%4"));
    EXPECT_FALSE(percent_decode("%zz"));
}

TEST(Text, DecodesWhatItEncodedForEveryByte) {
    std::string bytes;
    for (int byte = 0; byte < 256; ++byte)
        bytes += static_cast<char>(byte);
    EXPECT_EQ(percent_decode(percent_encode(bytes)), bytes);
}

TEST(Text, SplitsEmptyFieldsToo) {
    EXPECT_EQ(split("a,,b,", ',').size(), 4U);
    EXPECT_EQ(split("", ',').size(), 1U);
    EXPECT_EQ(trim(" \t a b \r\n"), "a b");
}

TEST(Result, RefusesToHandOutWhatIsNotThere) {
    const Result<int> good{7};
    const Result<int> bad{Error{ErrorKind::input, "run.droplog:3", "field CH is 'x'", "fix it"}};
    EXPECT_EQ(*good, 7);
    EXPECT_ANY_THROW(static_cast<void>(*bad));
    EXPECT_ANY_THROW(static_cast<void>(good.error()));
    EXPECT_EQ(bad.error().message(), "run.droplog:3: field CH is 'x'; fix it");
}

TEST(Result, MapsEachKindOfErrorToItsExitStatus) {
    EXPECT_EQ(exit_status(ErrorKind::usage), 64);
    EXPECT_EQ(exit_status(ErrorKind::input), 65);
    EXPECT_EQ(exit_status(ErrorKind::device), 74);
}

TEST(Units, RejectSharesAndConfidencesOutsideTheirRange) {
    EXPECT_ANY_THROW(Share{1.5});
    EXPECT_ANY_THROW(Share{-0.1});
    EXPECT_ANY_THROW(Confidence{95.0});
    EXPECT_ANY_THROW(Confidence{0.0});
    EXPECT_NEAR(Confidence{0.95}.each_tail(), 0.025, 1e-15);
    EXPECT_EQ(mm_of(180'000), 180.0);
}

TEST(Text, ReplacesEveryPlaceAndNothingInWhatItPutsThere) {
    EXPECT_EQ(replaced("a style b style", "style", "data-style"), "a data-style b data-style");
    EXPECT_EQ(replaced("/f/one and /f/two", "/f/", ""), "one and two");
    EXPECT_EQ(replaced("none", "style", "x"), "none");
}

TEST(Text, WritesTheLettersAToZSmallAndLeavesEveryOtherByte) {
    EXPECT_EQ(lower("Reihe 7, \xC3\x84 [Z@]"), "reihe 7, \xC3\x84 [z@]");
    EXPECT_EQ(lower(""), "");
}
