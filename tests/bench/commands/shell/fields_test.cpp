#include "bench/commands/shell/fields.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::cli;

namespace {

const std::set<std::string> known{"--spacing-mm", "--channel", "--json"};

} // namespace

TEST(Fields, BecomeTheOptionsOfTheCommandThatRuns) {
    const Error shown = in_options(
        {ErrorKind::usage, "spacing_mm", "missing", "give `spacing_mm` 180, or `channel`"}, known);
    EXPECT_EQ(shown.message(), "option --spacing-mm: missing; give --spacing-mm 180, or --channel");
}

TEST(Fields, StayAsTheyAreWhereTheCommandHasNoSuchOption) {
    const Error error{ErrorKind::usage, "tolerance", "`html`", "see `batch key`, or ` alone"};
    EXPECT_EQ(in_options(error, known).message(), error.message());
}

TEST(Fields, ArePlacesOfWrongUsageOnly) {
    EXPECT_EQ(in_options({ErrorKind::input, "channel", "x", ""}, known).where, "channel");
}
