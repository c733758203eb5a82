#include "bench/station/farmer/found_table.hpp"
#include "tests/bench/io/temporary_folder.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::station;

namespace {

const std::string names = "pass,row,first_drop,last_drop,found\n";

Fields form_of(const std::string& place, const std::string& found) {
    Fields form;
    form.add("table", "night.csv");
    form.add("found:" + place, found);
    return form;
}

} // namespace

TEST(WhatWasDugUp, IsAddedCorrectedAndTakenOut) {
    const files::TemporaryFolder folder;
    const std::string file = folder / "night.csv.found.csv";
    const auto take = [&](const std::string& place, const std::string& found) {
        const auto text = found_table(form_of(place, found), file);
        ASSERT_TRUE(text);
        files::put_content(file, *text);
    };
    take("1,2,10,15", "none");
    take("3,2,7,7", "12");
    EXPECT_EQ(files::content_of(file), names + "1,2,10,15,none\n3,2,7,7,12\n");
    take("1,2,10,15", " seed ");
    EXPECT_EQ(files::content_of(file), names + "1,2,10,15,seed\n3,2,7,7,12\n");
    take("1,2,10,15", "");
    EXPECT_EQ(files::content_of(file), names + "3,2,7,7,12\n");
}

TEST(WhatWasDugUp, ComesInWithTheFilledInWalkingListToo) {
    const files::TemporaryFolder folder;
    const std::string file = folder / "night.csv.found.csv";
    files::put_content(file, names + "1,2,10,15,none\n9,9,9,9,seed\n");
    const auto text = found_on_walk("stop;name;pass;row;first_drop;last_drop;from_lat;found\r\n"
                                    "1;a;1;2;10;15;52,1;Seed\r\n"
                                    "2;b;3;2;7;7;52,1;\r\n"
                                    "3;c;\"F1, east\";2;8;8;52,1;12\r\n",
                                    file);
    ASSERT_TRUE(text) << text.error().message();
    EXPECT_EQ(*text, names + "1,2,10,15,Seed\n9,9,9,9,seed\n\"F1, east\",2,8,8,12\n");
    EXPECT_FALSE(found_on_walk("pass,row,drop\n1,2,3\n", file));
    EXPECT_FALSE(found_on_walk("", file));
    EXPECT_FALSE(found_on_walk("pass,row,first_drop,last_drop,found\n1,2,3,4,\n", file));
    EXPECT_FALSE(found_on_walk("pass,row,first_drop,last_drop,found\n1,2,3,4,maybe\n", file));
}

TEST(WhatWasDugUp, IsNotTakenOutByAPageThatWasOpenBefore) {
    const files::TemporaryFolder folder;
    const std::string file = folder / "night.csv.found.csv";
    files::put_content(file, names + "1,2,10,15,none\n"); // said on another page meanwhile
    Fields form = form_of("3,2,7,7", "12");
    form.add("shown:3,2,7,7", "");
    form.add("found:1,2,10,15", "");
    form.add("shown:1,2,10,15", "");
    EXPECT_EQ(*found_table(form, file), names + "1,2,10,15,none\n3,2,7,7,12\n");
    Fields later = form_of("1,2,10,15", "");
    later.add("shown:1,2,10,15", "none");
    EXPECT_EQ(*found_table(later, file), names);
}

TEST(WhatWasDugUp, IsShownAgainToBeCorrected) {
    const files::TemporaryFolder folder;
    const std::string file = folder / "night.csv.found.csv";
    files::put_content(file, names + "\"3 of a, b.csv\",2,7,9,<b>\n");
    const auto fields = found_fields(field::FieldAudit{}, file);
    ASSERT_TRUE(fields);
    EXPECT_NE(fields->find("value=\"&lt;b&gt;\""), std::string::npos);
    EXPECT_EQ(fields->find("<b>"), std::string::npos);
    EXPECT_NE(fields->find("name=\"found:&quot;3 of a, b.csv&quot;,2,7,9\""), std::string::npos)
        << *fields;
}

TEST(WhatWasDugUp, RefusesWhatIsNoFindingAndATableOfAnotherKind) {
    const files::TemporaryFolder folder;
    const std::string file = folder / "night.csv.found.csv";
    for (const char* const found : {"abc", "-5", "none,1", "a\nb", "x;y", "\""})
        EXPECT_FALSE(found_table(form_of("1,2,3,4", found), file)) << found;
    EXPECT_FALSE(found_table(form_of("1,2,3", "none"), file));
    EXPECT_FALSE(found_table(form_of("1,2\n,3,4", "none"), file));
    files::put_content(file, "stop,row,pass\n1,2,3\n");
    EXPECT_FALSE(found_table(form_of("1,2,3,4", "none"), file));
    EXPECT_FALSE(found_fields(field::FieldAudit{}, file));
}
