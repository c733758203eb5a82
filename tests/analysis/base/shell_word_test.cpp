#include "analysis/base/shell_word.hpp"

#include <gtest/gtest.h>

namespace dropledger {
namespace {

TEST(ShellWord, LeavesAPlainNameAsItIs) {
    EXPECT_EQ(shell_word("logs/SU-0042.droplog"), "logs/SU-0042.droplog");
}

TEST(ShellWord, PutsWhatAShellWouldTakeApartInQuotes) {
    EXPECT_EQ(shell_word("unit 42.droplog"), "'unit 42.droplog'");
    EXPECT_EQ(shell_word("a;b"), "'a;b'");
    EXPECT_EQ(shell_word("M\u00fcller.toml"), "'M\u00fcller.toml'");
    EXPECT_EQ(shell_word(""), "''");
}

TEST(ShellWord, ShutsAndOpensTheQuotesAroundOneInTheName) {
    EXPECT_EQ(shell_word("it's"), "'it'\\''s'");
}

TEST(ShellWord, KeepsANameFromBeingAnOption) {
    EXPECT_EQ(shell_word("-x.droplog"), "./-x.droplog");
    EXPECT_EQ(shell_word("-x y"), "'./-x y'");
}

} // namespace
} // namespace dropledger
