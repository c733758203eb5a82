#include "analysis/field/input/drops.hpp"

#include <gtest/gtest.h>

namespace dropledger::field {
namespace {

constexpr const char* header = "time,pass,row,drop,lat,lon,target,seen,alert\n";

Result<Field> read(const std::string& text, const Mapping& mapping = {},
                   const Answers& answers = {}) {
    StringSource source(text);
    return read_field({{&source, "night.csv"}}, mapping, answers);
}

TEST(FieldTable, ReadsColumnsInAnyOrderAndIgnoresOthers) {
    const auto field = read("\xEF\xBB\xBF"
                            "remark,seen,target,lon,lat,drop,row,pass,time,alert\r\n"
                            "\"a, \"\"b\"\"\nc\",0,1,10.5,52.25,7,2,1,2026-04-01T22:00:00Z,1\r\n");
    ASSERT_TRUE(field);
    const FieldDrop drop = field->lines.at({1, 2}).drops().at(0);
    EXPECT_EQ(drop.drop, 7);
    EXPECT_EQ(drop.at.x, 10.5);
    EXPECT_EQ(drop.at.y, 52.25);
    EXPECT_TRUE(drop.alert);
    EXPECT_TRUE(drop.silent());
    EXPECT_EQ(drop.time_s, 1775080800.0); // [R] Python datetime
}

TEST(FieldTable, ReadsNamesInQuotesThatHoldTheSeparatorAndQuotes) {
    const auto mapping = parse_mapping("[columns]\noffset_mm = 'error, \"landing\"'\n", "x");
    ASSERT_TRUE(mapping);
    const auto field =
        read("pass,row,drop,\"wind, m/s\",lat,lon,target,seen,\"error, \"\"landing\"\"\"\n"
             "1,2,3,4.5,52,10,1,1,7\n",
             *mapping);
    ASSERT_TRUE(field) << field.error().message();
    EXPECT_EQ(field->rows_bad, 0);
    EXPECT_FLOAT_EQ(field->lines.at({1, 2}).drops().at(0).offset_mm, 7.0F);
}

TEST(FieldTable, CountsBadRowsWithLineAndReasonAndReadsOn) {
    const auto field = read(std::string(header) + "0,1,1,0,52,10,1,1,0\n"
                                                  "0,1,1,1,92,10,1,1,0\n"
                                                  "0,1,1,2,52\n"
                                                  "0,1,1,3,52,10,1,maybe,0\n"
                                                  "\"0,1,1,4,52,10,1,1,0\n"
                                                  "0,1,1,0,52,10,1,0,0\n"
                                                  "0,1,1,5,52,10,1,0,");
    ASSERT_TRUE(field);
    EXPECT_EQ(field->drops, 2);
    ASSERT_EQ(field->rows_bad, 5);
    const std::vector<std::uint64_t> lines{3, 4, 5, 6, 7};
    for (std::size_t i = 0; i < lines.size(); ++i)
        EXPECT_EQ(field->bad_samples[i].line, lines[i]);
    EXPECT_EQ(field->bad_samples[0].reason, "lat '92' is out of range");
    EXPECT_EQ(field->bad_samples[4].reason, "this pass, row and drop stand already in line 2");
}

TEST(FieldTable, ReadsOtherNamesUnitsAndDecimalCommas) {
    const auto mapping = parse_mapping(R"(
separator = ";"
decimal_comma = true
utc_offset_minutes = 120
[columns]
pass = "Spur"
east_m = "rechts"
north_m = "hoch"
offset_mm = "versatz"
[units]
east_m = "cm"
offset_mm = "cm"
)",
                                       "machine.toml");
    ASSERT_TRUE(mapping) << mapping.error().message();
    const auto field = read("time;Spur;row;drop;rechts;hoch;target;seen;alert;versatz\n"
                            "2026-04-02T00:00:00;1;1;0;150,5;2,25;1;1;;-0,4\n",
                            *mapping);
    ASSERT_TRUE(field);
    EXPECT_FALSE(field->geographic);
    const FieldDrop drop = field->lines.at({1, 1}).drops().at(0);
    EXPECT_DOUBLE_EQ(drop.at.x, 1.505);
    EXPECT_DOUBLE_EQ(drop.at.y, 2.25);
    EXPECT_FLOAT_EQ(drop.offset_mm, -4.0F);
    EXPECT_EQ(drop.time_s, 1775080800.0);
}

TEST(FieldTable, TurnsUtmIntoLongitudeAndLatitude) {
    const auto mapping = parse_mapping("utm_zone = \"31N\"", "machine.toml");
    ASSERT_TRUE(mapping);
    const auto field =
        read("pass,row,drop,east_m,north_m,target,seen\n1,1,0,500000,0,1,1\n", *mapping);
    ASSERT_TRUE(field);
    EXPECT_TRUE(field->geographic); // the zone's central meridian on the equator: 3 degrees east,
                                    // by definition
    EXPECT_NEAR(field->lines.at({1, 1}).drops().at(0).at.x, 3.0, 1e-12);
    EXPECT_NEAR(field->lines.at({1, 1}).drops().at(0).at.y, 0.0, 1e-12);
}

TEST(FieldTable, RefusesATableWithoutTheColumnsItNeeds) {
    EXPECT_FALSE(read("pass,row,drop\n1,1,1\n"));
    EXPECT_FALSE(read(""));
    EXPECT_FALSE(read(header));
}

TEST(FieldTable, SaysWhatIsWrongWithAMapping) {
    EXPECT_FALSE(parse_mapping("separator = \"ab\"", "m.toml"));
    EXPECT_FALSE(parse_mapping("decimal_comma = true", "m.toml"));
    EXPECT_FALSE(parse_mapping("[columns]\nnothing = \"x\"", "m.toml"));
    EXPECT_FALSE(parse_mapping("[units]\ntime = \"cm\"", "m.toml"));
}

} // namespace
} // namespace dropledger::field
