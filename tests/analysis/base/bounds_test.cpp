// Files that anyone may have written: too large, too deep, no text.
#include "analysis/base/dates.hpp"
#include "analysis/base/readers/json_reader.hpp"
#include "analysis/base/readers/toml_table.hpp"
#include "analysis/base/utf8.hpp"

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

using namespace dropledger;

namespace {

std::string repeated(const std::string& part, int times) {
    std::string out;
    for (int i = 0; i < times; ++i)
        out += part;
    return out;
}

} // namespace

TEST(TomlTable, TellsTheKindsOfItsValues) {
    auto document = TomlDocument::parse("t = \"x\"\nn = 1.5\nw = 2\nf = true\n[a]\n[[b]]\n", "x");
    ASSERT_TRUE(document);
    const TomlTable root = document->root();
    EXPECT_EQ(root.as_text("t"), "x");
    EXPECT_EQ(root.as_number("n"), 1.5);
    EXPECT_EQ(root.as_number("w"), 2.0);
    EXPECT_EQ(root.as_whole("w"), 2);
    EXPECT_EQ(root.as_flag("f"), true);
    EXPECT_FALSE(root.as_whole("n"));
    EXPECT_FALSE(root.as_text("w"));
    EXPECT_FALSE(root.as_number("f"));
    EXPECT_FALSE(root.as_flag("nothing"));
    EXPECT_TRUE(root.has_table("a"));
    EXPECT_TRUE(root.has_tables("b"));
    EXPECT_FALSE(root.has_table("b"));
    EXPECT_FALSE(root.failed());
}

TEST(JsonReader, RefusesWhatNestsTooDeepBeforeItIsRead) {
    const std::string deep = repeated("[", 200'000);
    const auto found = read_json("{\"a\": " + deep, "x.json");
    ASSERT_FALSE(found);
    EXPECT_EQ(found.error().where, "x.json");
    EXPECT_NE(found.error().what.find("nested"), std::string::npos);
    EXPECT_FALSE(read_json("{\"a\": " + deep + repeated("]", 200'000) + "}", "x"));
    EXPECT_FALSE(read_json(repeated("{\"a\":", 200'000), "x"));
    EXPECT_FALSE(read_json("[\"\\\\\", " + deep, "x"));
    EXPECT_TRUE(read_json("{\"a\": \"" + deep + "\\\"" + deep + "\"}", "x"));
    EXPECT_TRUE(read_json(repeated("[", 100) + repeated("]", 100), "x"));
    EXPECT_FALSE(read_json(repeated("[", 101) + repeated("]", 101), "x"));
}

TEST(JsonReader, RefusesWhatIsNoJson) {
    for (const char* text : {"", "{", "[1,]", "{\"a\":1} x", "nan", "1e999", "\"\xFF\""})
        EXPECT_FALSE(read_json(text, "x")) << text;
}

TEST(Utf8, TakesShortestFormsOnly) {
    for (const char* text :
         {"", "seed", "\xC3\xA4", "\xE2\x82\xAC", "\xF0\x9F\x8C\xB1", "\xF4\x8F\xBF\xBF"})
        EXPECT_TRUE(is_utf8(text)) << text;
    for (const char* text :
         {"\xC0\xAF", "\xE0\x80\xAF", "\xED\xA0\x80", "\xF4\x90\x80\x80", "\x80", "a\xC3", "\xFF"})
        EXPECT_FALSE(is_utf8(text)) << text;
    EXPECT_EQ(first_character("\xE2\x82\xACx")->code, 0x20ACU);
    EXPECT_EQ(first_character("\xE2\x82\xACx")->length, 3U);
}

// Days since 1970-01-01: 2000-03-01 is 11017 (seen in `date -u -d 2000-03-01 +%s` / 86400).
TEST(Dates, ReadDaysOfTheCalendarOnly) {
    EXPECT_EQ(parse_day("1970-01-01"), 0);
    EXPECT_EQ(parse_day("2000-03-01"), 11017);
    EXPECT_TRUE(is_date("2024-02-29"));
    for (const char* text : {"2023-02-29", "2024-13-01", "2024-00-10", "2024-1-01", "2024-01-01 ",
                             "24-01-01", "2024/01/01", "+024-01-01", ""})
        EXPECT_FALSE(is_date(text)) << text;
}

TEST(Dates, ReadTimesWithAndWithoutZone) {
    EXPECT_EQ(parse_rfc3339("1970-01-02T00:00:01Z", 0), 86401.0);
    EXPECT_EQ(parse_rfc3339("1970-01-02 02:00:00.25+02:00", 0), 86400.25);
    EXPECT_EQ(parse_rfc3339("1970-01-02T02:00:00", 120), 86400.0);
    EXPECT_FALSE(parse_rfc3339("1970-01-02T24:00:00Z", 0));
    EXPECT_FALSE(parse_rfc3339("1970-01-02T00:00:00Zx", 0));
    EXPECT_FALSE(parse_rfc3339("1970-01-02", 0));
}

TEST(Dates, AreWrittenAsTheyAreRead) {
    for (const std::int64_t time : {0LL, 951'782'400LL, 1'776'196'800LL, 4'102'444'799LL})
        EXPECT_EQ(parse_rfc3339(rfc3339(time), 0), static_cast<double>(time));
}
