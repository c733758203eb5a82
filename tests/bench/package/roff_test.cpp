#include "bench/package/roff.hpp"

#include <gtest/gtest.h>

namespace dropledger::package {
namespace {

TEST(Roff, LetsEveryCharacterStandForItself) {
    EXPECT_EQ(roff("--aql 'x' `y` a\\b ~^"), "\\-\\-aql \\(aqx\\(aq \\(gay\\(ga a\\eb \\(ti\\(ha");
    EXPECT_EQ(roff("5f0e… § 3"), "5f0e… § 3");
}

TEST(Roff, TakesNoTextForACommand) {
    EXPECT_EQ(roff_line(".droplog"), "\\&.droplog");
    EXPECT_EQ(roff_line("'quoted'"), "\\(aqquoted\\(aq");
}

TEST(Roff, MakesSectionsOfHeadingsInCapitals) {
    EXPECT_EQ(roff_sections("DESCRIPTION\n  One.\n  Two.\n\n  Three.\n\nEXIT STATUS\n  0 done\n"),
              ".SH DESCRIPTION\n.PP\nOne.\nTwo.\n.PP\nThree.\n.SH EXIT STATUS\n.PP\n0 done\n");
}

TEST(Roff, KeepsTheLinesOfExamplesAndOfWhatIsSetOut) {
    EXPECT_EQ(roff_sections("EXAMPLES\n  a b\n  c d\n"), ".SH EXAMPLES\n.PP\n.nf\na b\nc d\n.fi\n");
    EXPECT_EQ(roff_sections("OUTPUT\n  key   what\n  k     w\n"),
              ".SH OUTPUT\n.PP\n.nf\nkey   what\nk     w\n.fi\n");
}

TEST(Roff, TakesLabelsForHeadingsWhereThereIsNone) {
    EXPECT_EQ(roff_sections("Makes it.\n\nExit status: 0 done.\n\nExamples:\n  x --y\n"),
              ".SH DESCRIPTION\n.PP\nMakes it.\n.SH EXIT STATUS\n.PP\n0 done.\n"
              ".SH EXAMPLES\n.PP\n.nf\nx \\-\\-y\n.fi\n");
    EXPECT_EQ(roff_sections("A plan (IDs A)\n"), ".SH DESCRIPTION\n.PP\nA plan (IDs A)\n");
}

} // namespace
} // namespace dropledger::package
