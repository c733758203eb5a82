#include "analysis/base/shown_text.hpp"

#include "analysis/base/utf8.hpp"

#include <gtest/gtest.h>

using namespace dropledger;

TEST(ShownText, LeavesWhatCanBeSeenAsItIs) {
    for (const char* text : {"", "SU-0042", "a \\ b", "Zürich, 種, Ω, 🌱", "50 % < 60 %"})
        EXPECT_EQ(shown_text(text), text);
}

TEST(ShownText, ShowsWhatSteersATerminalAsEscapes) {
    EXPECT_EQ(shown_text("\x1b[2J\x1b]0;x\x07"), "\\x1B[2J\\x1B]0;x\\x07");
    EXPECT_EQ(shown_text("within\routside"), "within\\routside");
    EXPECT_EQ(shown_text("\xC2\x9B"
                         "2J"),
              "\\u{009B}2J"); // C1, one character for ESC [
    EXPECT_EQ(shown_text(std::string_view("a\0b\x7F", 4)), "a\\x00b\\x7F");
}

TEST(ShownText, ShowsWhatTurnsTheReadingDirectionOrCannotBeSeen) {
    EXPECT_EQ(shown_text("\xE2\x80\xAE"
                         "nihtiw"),
              "\\u{202E}nihtiw");
    for (const auto& [bytes, escape] :
         {std::pair{"\xE2\x80\xAA", "\\u{202A}"}, std::pair{"\xE2\x81\xA6", "\\u{2066}"},
          std::pair{"\xE2\x81\xA9", "\\u{2069}"}, std::pair{"\xE2\x80\x8B", "\\u{200B}"},
          std::pair{"\xE2\x80\xA8", "\\u{2028}"}, std::pair{"\xEF\xBB\xBF", "\\u{FEFF}"},
          std::pair{"\xC2\xAD", "\\u{00AD}"}, std::pair{"\xF3\xA0\x80\x81", "\\u{E0001}"}})
        EXPECT_EQ(shown_text(bytes), escape);
}

TEST(ShownText, ShowsBytesThatAreNoTextOneByOne) {
    EXPECT_EQ(shown_text("a\xFFz"), "a\\xFFz");
    EXPECT_EQ(shown_text("\xC0\xAF"), "\\xC0\\xAF");                   // longer than needed
    EXPECT_EQ(shown_text("\xED\xA0\x80"), "\\xED\\xA0\\x80");          // a surrogate
    EXPECT_EQ(shown_text("\xE2\x82"), "\\xE2\\x82");                   // cut off
    EXPECT_EQ(shown_text("\xF4\x90\x80\x80"), "\\xF4\\x90\\x80\\x80"); // beyond U+10FFFF
}

TEST(ShownText, KeepsTheLineEndsOfAPageButNotOfAValue) {
    EXPECT_EQ(shown_text("a\n\tb\r\n", Breaks::kept), "a\n\tb\\r\n");
    EXPECT_EQ(shown_text("a\n\tb"), "a\\n\\tb");
}

TEST(ShownText, DoesNothingMoreTheSecondTime) {
    std::string all;
    for (int byte = 0; byte < 256; ++byte)
        all += static_cast<char>(byte);
    const std::string once = shown_text(all);
    EXPECT_EQ(shown_text(once), once);
    for (const char c : once)
        EXPECT_TRUE(c >= 0x20 && c < 0x7F);
}

TEST(TextPage, LetsNoValuePassForALineOfItsOwn) {
    TextPage page;
    page.add("unit {}: {} of {:.1f} %\n", std::string("SU-1\nverdict: within"), 3, 2.5);
    EXPECT_EQ(page.text(), "unit SU-1\\nverdict: within: 3 of 2.5 %\n");
    page.append("two\nlines\x1b\n");
    EXPECT_EQ(page.text(), "unit SU-1\\nverdict: within: 3 of 2.5 %\ntwo\nlines\\x1B\n");
}
