#include "bench/station/batches/program.hpp"

#include <gtest/gtest.h>

using namespace dropledger::station;

TEST(WhatACommandSaid, IsShownWithoutWhatToType) {
    EXPECT_EQ(
        refusal_in("dropledger: --n: `abc` is not a number; like 180 or 0.25; `dropledger batch "
                   "open --help` tells more\n"),
        "--n: `abc` is not a number; like 180 or 0.25");
    EXPECT_EQ(refusal_in("dropledger: option --serials: once only; say it again\n"),
              "--serials: once only; say it again");
    EXPECT_EQ(refusal_in("one\ndropledger: two\n"), "one two");
    EXPECT_EQ(refusal_in(""), "");
}

TEST(WhatACommandSaid, TellsOfNoOptions) {
    EXPECT_EQ(without_options("for gate 1; --seen-by first writes the other's\nU-1  98 %\n\nOne in "
                              "full: --channel\nend"),
              "U-1  98 %\n\nend");
    EXPECT_EQ(without_options(""), "");
}

TEST(WhatACommandSaid, NamesFilesWithoutTheirFolder) {
    EXPECT_EQ(without_folder("/a/b/x.toml and /a/b/y.toml, /a/c", "/a/b"),
              "x.toml and y.toml, /a/c");
}
