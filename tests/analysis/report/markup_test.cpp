#include "analysis/report/pictures/markup.hpp"
#include "analysis/report/pictures/plot.hpp"

#include <gtest/gtest.h>

namespace dropledger::report::pictures {

namespace {

TEST(Markup, EscapesWhatWouldBeMarkup) {
    EXPECT_EQ(escaped("<b a=\"1\" c='2'>&"), "&lt;b a=&quot;1&quot; c=&#39;2&#39;&gt;&amp;");
}

TEST(Markup, ShowsBytesThatAreNoUtf8AndWhatCannotBeSeenAsEscapes) {
    EXPECT_EQ(escaped("a\xFFz"), "a\\xFFz");
    EXPECT_EQ(escaped(std::string("a\0z", 3)), "a\\x00z");
    EXPECT_EQ(escaped("\xEF\xBF\xBF"), "\\u{FFFF}"); // no XML character
    EXPECT_EQ(escaped("\xE2\x80\xAE<"), "\\u{202E}&lt;");
    EXPECT_EQ(escaped("a\n\tb"), "a\n\tb");
}

TEST(Markup, KeepsWellFormedUtf8) {
    EXPECT_EQ(escaped("\xC2\xB5m \xE2\x89\xA4 \xF0\x9F\x8C\xB1"),
              "\xC2\xB5m \xE2\x89\xA4 \xF0\x9F\x8C\xB1");
}

TEST(Markup, SetsMinusSignsAndBindsUnits) {
    EXPECT_EQ(typeset("-1.5 mm (-2 to 3 %)"), "\xE2\x88\x92"
                                              "1.5\xC2\xA0mm (\xE2\x88\x92"
                                              "2 to 3\xC2\xA0%)");
    EXPECT_EQ(typeset("U-0101 & more"), "U-0101 &amp; more");
}

TEST(Markup, LetsNoLabelOutOfARegionThatScrolls) {
    EXPECT_EQ(scrolling("a\" b", "<table></table>"),
              "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"a&quot; "
              "b\"><table></table></div>");
}

TEST(Ticks, AreRoundAndInsideTheScale) {
    const auto found = ticks({-0.3, 8.2}, 6);
    ASSERT_EQ(found.size(), 5U);
    EXPECT_EQ(found.front().label, "0");
    EXPECT_EQ(found.back().label, "8");
    EXPECT_EQ(ticks({0.0, 0.05}, 6).at(1).label, "0.01");
}

TEST(Ticks, OfAScaleWithoutLengthAreOne) {
    EXPECT_EQ(ticks({3.0, 3.0}, 5).size(), 1U);
}

} // namespace

} // namespace dropledger::report::pictures
