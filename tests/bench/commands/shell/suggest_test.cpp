#include "bench/commands/shell/suggest.hpp"

#include <gtest/gtest.h>

using dropledger::cli::did_you_mean;

namespace {

const std::vector<std::string_view> commands{"audit", "batch", "book", "calibrate", "run"};
const std::vector<std::string_view> options{"--channels", "--channel-mask", "--channel-set",
                                            "--speed-mps", "--spacing-mm"};

} // namespace

TEST(DidYouMean, NamesTheNearest) {
    EXPECT_EQ(did_you_mean("aduit", commands), "did you mean audit?"); // two letters swapped
    EXPECT_EQ(did_you_mean("audti", commands), "did you mean audit?");
    EXPECT_EQ(did_you_mean("aubot", commands), ""); // two of five changed
    EXPECT_EQ(did_you_mean("adit", commands), "did you mean audit?");
    EXPECT_EQ(did_you_mean("calibrte", commands), "did you mean calibrate?");
    EXPECT_EQ(did_you_mean("--spacing-m", options), "did you mean --spacing-mm?");
}

TEST(DidYouMean, NamesWhatBeginsSo) {
    EXPECT_EQ(did_you_mean("--spacing", options), "did you mean --spacing-mm?");
    EXPECT_EQ(did_you_mean("--channel", options),
              "did you mean --channels, --channel-mask or --channel-set?");
}

TEST(DidYouMean, KnowsAShortWordByItsLetters) {
    EXPECT_EQ(did_you_mean("rn", commands), "did you mean run?");
    EXPECT_EQ(did_you_mean("b", commands), ""); // batch or book
}

TEST(DidYouMean, IsEmptyWhereNothingIsNear) {
    EXPECT_EQ(did_you_mean("weigh", commands), "");
    EXPECT_EQ(did_you_mean("", commands), "");
    EXPECT_EQ(did_you_mean("--", options), "");
}
