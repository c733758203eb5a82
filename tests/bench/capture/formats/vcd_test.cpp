#include "bench/capture/formats/vcd.hpp"

#include "tests/bench/capture/formats/a_capture.hpp"

#include <gtest/gtest.h>

namespace dropledger::capture {
namespace {

Result<Extent> read(const std::string& text, const std::vector<std::string>& wires, Told& told) {
    StringSource source(text);
    return read_vcd(source, "run.vcd", wires, told);
}

const std::string head = "$date today $end\n$timescale 10 us $end\n$scope module top $end\n"
                         "$scope module gates $end\n$var wire 1 ! D0 $end\n$upscope $end\n"
                         "$var reg 8 \"# bus [7:0] $end\n$var wire 1 % D1 $end\n$upscope $end\n"
                         "$enddefinitions $end\n";

std::string error_of(const std::string& text, const std::vector<std::string>& wires) {
    Told told;
    const auto found = read(text, wires, told);
    return found ? "" : found.error().message();
}

// The clause's own shape: an initial dump, scalars without and vectors with a blank before the code.
TEST(Vcd, TellsLevelsAndChangesOfTheSignalsAskedFor) {
    Told told;
    const auto found = read(head + "#0\n$dumpvars\n0!\nbx \"#\n1%\n$end\n#3 1! b1010 \"#\n"
                                   "$comment 1! 0! $end\n#7\n0!\nb11 \"#\n#9\n",
                            {"D0", "bus[1]", "top.D1"}, told);
    ASSERT_TRUE(found) << found.error().message();
    const std::vector<Told::Row> expected{{0, 0, false},
                                          {0, 2, true},
                                          {30 * ps_per_us, 0, true},
                                          {30 * ps_per_us, 1, true},
                                          {70 * ps_per_us, 0, false}};
    EXPECT_EQ(told.rows, expected);
    EXPECT_EQ(told.last_ps, 90 * ps_per_us);
    EXPECT_EQ(found->changes, 5U);
}

TEST(Vcd, TakesBitsOfASignalFromTheEndThatItsRangeSays) {
    Told told;
    const auto found =
        read("$timescale 1ns $end $var wire 4 a up [0:3] $end $var wire 4 b down [3:0] "
             "$end $enddefinitions $end #1 b0001 a b0001 b\n",
             {"up[3]", "down[0]", "up[0]", "down[3]"}, told);
    ASSERT_TRUE(found) << found.error().message();
    const std::vector<Told::Row> expected{
        {1000, 0, true}, {1000, 2, false}, {1000, 1, true}, {1000, 3, false}};
    EXPECT_EQ(told.rows, expected);
}

TEST(Vcd, KnowsEveryTimeScaleOfTheStandard) {
    struct Row {
        const char* scale;
        std::int64_t ps_of_7000;
    };
    for (const Row& row : {Row{"1 s", 7'000'000'000'000'000}, Row{"100ms", 700'000'000'000'000},
                           Row{"1us", 7'000'000'000}, Row{"10 ns", 70'000'000},
                           Row{"100 ps", 700'000}, Row{"1fs", 7}, Row{"100fs", 700}}) {
        Told told;
        const auto found = read(std::string("$timescale ") + row.scale +
                                    " $end $var wire 1 ! A $end $enddefinitions $end #7000 1!\n",
                                {"A"}, told);
        ASSERT_TRUE(found) << row.scale << found.error().message();
        EXPECT_EQ(std::get<0>(told.rows.at(0)), row.ps_of_7000) << row.scale;
    }
}

std::string repeated(const std::string& text, int times) {
    std::string all;
    for (int i = 0; i < times; ++i)
        all += text;
    return all;
}

// Remarks of any length are passed over.
TEST(Vcd, PassesOverALongComment) {
    Told told;
    const auto found = read("$comment " + repeated("word ", 100'000) +
                                "$end $timescale 1 us $end $var wire 1 ! A $end "
                                "$enddefinitions $end #0 1!\n",
                            {"A"}, told);
    ASSERT_TRUE(found) << found.error().message();
    EXPECT_EQ(found->changes, 1U);
}

TEST(Vcd, RefusesWhatNobodyCanRelyOn) {
    struct Row {
        std::string text;
        std::vector<std::string> wires;
        const char* says;
    };
    const std::string scalar = "$timescale 1us $end $var wire 1 ! A $end $enddefinitions $end\n";
    const std::vector<Row> rows{
        {head + "#0 0! #1 1", {"D0"}, "ends in the middle of a word"},
        {head.substr(0, 60), {"D0"}, "middle of a word"},
        {"$timescale 1us $end $var wire 1 ! A", {"A"}, "middle of a word"},
        {"$timescale 1us $end $var wire 1 ! A \n", {"A"}, "a part without $end"},
        {"$timescale 1us $end\n", {"A"}, "before $enddefinitions"},
        {"hello world\n", {"A"}, "where a part such as $var was expected"},
        {"$timescale 3us $end $enddefinitions $end\n", {"A"}, "no time scale"},
        {"$var wire 1 ! A $end $enddefinitions $end #0 1!\n", {"A"}, "no $timescale"},
        {scalar + "#5 1! #4 0!\n", {"A"}, "run.vcd:2: time goes back to #4"},
        {scalar + "#5 1!\n#6 x!\n", {"A"}, "run.vcd:3: `A` is x here"},
        {scalar + "#5 1!\n#6 z!\n", {"A"}, "`A` is z here"},
        {scalar + "#5 1!\n$dumpoff x! $end\n", {"A"}, "switched off"},
        {scalar + "#5 1!\n#6 q!\n", {"A"}, "neither a time nor a value"},
        {scalar + "#99999999999999999999 1!\n", {"A"}, "no time within 7 days"},
        {scalar, {"A"}, "no time stamp"},
        {scalar + "#1 r1.5 !\n", {"A"}, "no level"},
        {scalar + "#1 1!\n", {"B"}, "has no signal `B`"},
        {head + "#0 0!\n", {"bus"}, "has no signal `bus` of one bit"},
        {head + "#0 0!\n", {"bus[8]"}, "top.bus[7:0]"},
        {repeated("$scope module a $end ", 101) + scalar, {"A"}, "scopes 101 deep"},
        {"$scope module " + repeated("a", 1001) + " $end " + scalar, {"A"}, "over 1000 characters"},
        {"$var wire 1 ! " + repeated("a", 1001) + " $end " + scalar, {"A"}, "over 1000 characters"},
        {"$timescale 1us $end $var wire 2 ! A [9223372036854775807:-9223372036854775808] $end "
         "$enddefinitions $end\n",
         {"A[5]"},
         "has no signal `A[5]`"},
    };
    for (const Row& row : rows)
        EXPECT_NE(error_of(row.text, row.wires).find(row.says), std::string::npos)
            << row.says << " / " << error_of(row.text, row.wires);
}

TEST(Vcd, AsksForTheScopeWhereANameStandsForTwoSignals) {
    const std::string two =
        "$timescale 1us $end $scope module a $end $var wire 1 ! D $end $upscope "
        "$end $scope module b $end $var wire 1 ? D $end $upscope $end "
        "$enddefinitions $end #0 0! 1?\n";
    EXPECT_NE(error_of(two, {"D"}).find("a.D, or b.D"), std::string::npos) << error_of(two, {"D"});
    Told told;
    ASSERT_TRUE(read(two, {"b.D"}, told));
    EXPECT_EQ(told.rows, (std::vector<Told::Row>{{0, 0, true}}));
}

// One signal under two names is one signal.
TEST(Vcd, TakesASignalThatIsDeclaredTwice) {
    Told told;
    ASSERT_TRUE(
        read("$timescale 1us $end $scope module a $end $var wire 1 ! D $end $upscope $end "
             "$scope module b $end $var wire 1 ! D $end $upscope $end $enddefinitions $end #0 "
             "1!\n",
             {"D"}, told));
    EXPECT_EQ(told.rows.size(), 1U);
}

TEST(Vcd, ReadsTheSameHoweverItsBytesCome) {
    struct OneByOne final : ByteSource {
        explicit OneByOne(std::string all) : text(std::move(all)) {}
        Result<std::size_t> read(std::span<char> room) override {
            if (at == text.size())
                return std::size_t{0};
            room[0] = text[at++];
            return std::size_t{1};
        }
        std::string text;
        std::size_t at = 0;
    };
    const std::string text = head + "#0 0! 1% #3 1! #7 0!\n";
    Told whole;
    ASSERT_TRUE(read(text, {"D0", "D1"}, whole));
    Told pieces;
    OneByOne source(text);
    const std::vector<std::string> wires{"D0", "D1"};
    ASSERT_TRUE(read_vcd(source, "pipe", wires, pieces));
    EXPECT_EQ(whole.rows, pieces.rows);
}

} // namespace
} // namespace dropledger::capture
