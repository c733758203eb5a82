#include "bench/station/farmer/dropped.hpp"
#include "tests/bench/io/temporary_folder.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::station;

TEST(WhatWasDropped, IsATableWhateverItIsCalled) {
    for (const char* const name : {"night.csv", "NIGHT.CSV", "night.txt", "night", "night.machine"})
        EXPECT_EQ(what_was_dropped(name, "time;pass\n1;2\n").value(), Dropped::table) << name;
    EXPECT_EQ(what_was_dropped("latin.csv", "Stra\xDF"
                                            "e;1\r\n")
                  .value(),
              Dropped::table);
    EXPECT_EQ(what_was_dropped("empty.csv", "").value(), Dropped::table);
}

TEST(WhatWasDropped, IsATableInUtf16) {
    std::string bytes("\xFF\xFE", 2);
    for (const char c : std::string("time;pass\n1;2\n"))
        bytes += {c, '\0'};
    EXPECT_EQ(what_was_dropped("wide.csv", bytes).value(), Dropped::table);
}

TEST(WhatWasDropped, IsALogByWhatIsInIt) {
    EXPECT_EQ(what_was_dropped("pass-1.droplog", "@droplog,1\n").value(), Dropped::log);
    EXPECT_EQ(what_was_dropped("pass-1.txt", "@droplog,1\n").value(), Dropped::log);
    EXPECT_FALSE(what_was_dropped("pass-1.DROPLOG", "time;pass\n"));
}

TEST(WhatWasDropped, IsRefusedWhereItIsNeither) {
    for (const char* const name : {"a.pdf", "a.ZIP", "a.toml", "a.json", "bench.key", "bench.book",
                                   "a.csv.found.csv", "walk.gpx"})
        EXPECT_FALSE(what_was_dropped(name, "time;pass\n")) << name;
    EXPECT_FALSE(what_was_dropped("walk.csv", "stop;pass;row;first_drop;last_drop;found\n"));
    EXPECT_FALSE(what_was_dropped("night.xlsx", "PK\x03\x04"));
    EXPECT_FALSE(what_was_dropped("photo", std::string("\xFF\xD8\xFF\xE0\0\x10JFIF", 10)));
}

TEST(WhatWasDropped, IsKeptBesideAnotherOfItsName) {
    const files::TemporaryFolder folder;
    EXPECT_EQ(kept_name(folder / ".", "NIGHT.CSV", "one", ".csv"), "NIGHT.csv");
    files::put_content(folder / "NIGHT.csv", "one");
    EXPECT_EQ(kept_name(folder / ".", "NIGHT.CSV", "one", ".csv"), "NIGHT.csv");
    EXPECT_EQ(kept_name(folder / ".", "NIGHT.CSV", "two", ".csv"), "NIGHT-2.csv");
    EXPECT_EQ(kept_name(folder / ".", "night.txt", "two", ".csv"), "night.txt.csv");
}
