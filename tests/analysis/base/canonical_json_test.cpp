// RFC 8785, section 3.2 and appendix B: examples from memory.
#include "analysis/base/readers/canonical_json.hpp"

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include <bit>
#include <cstdint>
#include <limits>

using namespace dropledger;
using Json = nlohmann::json;

TEST(CanonicalJson, WritesTheRfcsExample) {
    const Json json = Json::parse(R"({
        "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
        "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
        "literals": [null, true, false] })");
    EXPECT_EQ(*canonical(json), "{\"literals\":[null,true,false],"
                                "\"numbers\":[333333333.3333333,1e+30,4.5,0.002,1e-27],"
                                "\"string\":\"\xE2\x82\xAC$\\u000f\\nA'B\\\"\\\\\\\\\\\"/\"}");
}

// By UTF-16 code units: the emoji (D83D…) comes before U+FB33, which its UTF-8 bytes would not.
TEST(CanonicalJson, SortsMembersByUtf16CodeUnits) {
    const Json json = Json::parse(R"({
        "\u20ac": "Euro", "\r": "CR", "\ufb33": "Dalet", "1": "One",
        "\ud83d\ude00": "Emoji", "\u0080": "Control", "\u00f6": "O" })");
    EXPECT_EQ(*canonical(json),
              "{\"\\r\":\"CR\",\"1\":\"One\",\"\xC2\x80\":\"Control\",\"\xC3\xB6\":"
              "\"O\",\"\xE2\x82\xAC\":\"Euro\",\"\xF0\x9F\x98\x80\":\"Emoji\","
              "\"\xEF\xAC\xB3\":\"Dalet\"}");
}

TEST(CanonicalJson, WritesNumbersAsEcmaScriptDoes) {
    struct Row {
        std::uint64_t bits;
        const char* text;
    };
    for (const Row& row : {Row{0x0000000000000000, "0"},
                           Row{0x8000000000000000, "0"},
                           Row{0x0000000000000001, "5e-324"},
                           Row{0x8000000000000001, "-5e-324"},
                           Row{0x7fefffffffffffff, "1.7976931348623157e+308"},
                           Row{0x4340000000000000, "9007199254740992"},
                           Row{0xc340000000000000, "-9007199254740992"},
                           Row{0x4430000000000000, "295147905179352830000"},
                           Row{0x44b52d02c7e14af5, "9.999999999999997e+22"},
                           Row{0x44b52d02c7e14af6, "1e+23"},
                           Row{0x44b52d02c7e14af7, "1.0000000000000001e+23"},
                           Row{0x444b1ae4d6e2ef4e, "999999999999999700000"},
                           Row{0x444b1ae4d6e2ef4f, "999999999999999900000"},
                           Row{0x444b1ae4d6e2ef50, "1e+21"},
                           Row{0x3eb0c6f7a0b5ed8c, "9.999999999999997e-7"},
                           Row{0x3eb0c6f7a0b5ed8d, "0.000001"},
                           Row{0x41b3de4355555553, "333333333.3333332"},
                           Row{0x41b3de4355555554, "333333333.33333325"},
                           Row{0x41b3de4355555555, "333333333.3333333"},
                           Row{0x41b3de4355555556, "333333333.3333334"},
                           Row{0x41b3de4355555557, "333333333.33333343"},
                           Row{0xbecbf647612f3696, "-0.0000033333333333333333"},
                           Row{0x43143ff3c1cb0959, "1424953923781206.2"}})
        EXPECT_EQ(canonical_number(std::bit_cast<double>(row.bits)), row.text);
}

TEST(CanonicalJson, RefusesWhatHasNoOneForm) {
    EXPECT_FALSE(canonical(Json(std::numeric_limits<double>::infinity())));
    EXPECT_FALSE(canonical(Json(std::numeric_limits<double>::quiet_NaN())));
    EXPECT_FALSE(canonical(Json(std::int64_t{9007199254740993})));
    EXPECT_FALSE(canonical(Json(std::numeric_limits<std::uint64_t>::max())));
    EXPECT_FALSE(canonical(Json("\xC3")));         // cut off
    EXPECT_FALSE(canonical(Json("\xC0\x80")));     // overlong
    EXPECT_FALSE(canonical(Json("\xED\xA0\x80"))); // a surrogate
    EXPECT_FALSE(canonical(Json{{"\xFF", 1}}));
    Json deep = 1;
    for (int i = 0; i < 200; ++i)
        deep = Json::array({deep});
    EXPECT_FALSE(canonical(deep));
    EXPECT_EQ(*canonical(Json(std::int64_t{-9007199254740991})), "-9007199254740991");
}
