#include "bench/station/pages/fields.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::station;

TEST(WordsOf, CallsAnOptionAsThePageDoes) {
    EXPECT_EQ(words_of(usage_error("option --blank-means", "not said",
                                   "give --blank-means none, or unknown")),
              "blank means: not said; give blank means none, or unknown");
}

TEST(WordsOf, LeavesAWholeCommandAlone) {
    const std::string words =
        words_of(device_error("port", "gone", "dropledger run --list-ports shows them"));
    EXPECT_NE(words.find("dropledger run --list-ports"), std::string::npos);
}

TEST(FormFields, LetNoValueOutOfItsField) {
    const std::string hostile = "\"><script>x</script>";
    for (const std::string& markup :
         {text_field({"a", "A", "", hostile, false}), hidden_field("a", hostile),
          text_field({hostile, "A", "", "", false}), hidden_field(hostile, "a"),
          select_field({"a", hostile, "", "", {{hostile, hostile}}}),
          tick_field({"a", hostile, "", "", {{hostile, hostile}}}), link("/x?" + hostile, hostile),
          said_wrong(input_error(hostile, hostile, hostile))}) {
        EXPECT_EQ(markup.find("<script"), std::string::npos) << markup;
        EXPECT_EQ(markup.find("\"\">"), std::string::npos) << markup;
    }
}

TEST(TypedList, IsCutAtAnyOfItsSeparatorsAndNowhereElse) {
    using Parts = std::vector<std::string>;
    EXPECT_EQ(typed_list("", " ;"), Parts{});
    EXPECT_EQ(typed_list(" ; ", " ;"), Parts{});
    EXPECT_EQ(typed_list("1=0,97;2=0.9", " \t;"), (Parts{"1=0,97", "2=0.9"}));
    EXPECT_EQ(typed_list(" SU-1, SU-3..SU-5\tSU-9;", " ,;\t"),
              (Parts{"SU-1", "SU-3..SU-5", "SU-9"}));
}
