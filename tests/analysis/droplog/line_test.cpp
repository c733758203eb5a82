#include "analysis/droplog/line.hpp"

#include "analysis/base/result.hpp"
#include "analysis/base/text.hpp"
#include "analysis/droplog/crc.hpp"
#include "tests/fuzz/reference.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <limits>
#include <random>

using namespace dropledger;
using namespace dropledger::droplog;

namespace {

// Any bytes under their right check, legal or not.
std::string checked(std::string_view body) {
    return fmt::format("{}*{:04X}", body, crc16(body));
}

LineName name_of(std::string_view body) {
    return decode(checked(body)).name;
}

struct Shape {
    const char* body;
    LineName name;
};

const std::string seal_of_a = "@seal,1," + std::string(64, 'a');

} // namespace

TEST(Line, KnowsEveryNameOfTheFormat) {
    const Shape good[] = {
        {"hello,0,5,1,A1,4,fw-1.2", LineName::hello},
        {"travel,1,4294967295,-123456789012", LineName::travel},
        {"drop,4294967295,0,255,4294967295,900000000000000000,4294967295", LineName::drop},
        {"pulse,3,4,0,65535,4294967295,65535", LineName::pulse},
        {"beat,4,5,0,0", LineName::beat},
        {"fault,5,6,-1,estop", LineName::fault},
        {"fault,5,6,3,gate_blocked", LineName::fault},
        {"armed,6,7", LineName::armed},
        {"started,7,8", LineName::started},
        {"halted,8,9", LineName::halted},
        {"halted,8,9,host_silent", LineName::halted},
        {"refused,9,10,busy", LineName::refused},
        {"weather,10,11,fine", LineName::unknown_controller},
        {"weather,10,11", LineName::unknown_controller},
        {"weather", LineName::unknown},
        {"weather,x,11", LineName::unknown},
        {"weather,1,11x", LineName::unknown},
        {"weather,4294967296,11", LineName::unknown},
        {"@droplog,1,2b7e1516-28ae-4d2a-abf7-158809cf4f3c,2026-03-02T08:00:00Z",
         LineName::host_droplog},
        {"@droplog,2", LineName::host_droplog},
        {"@set,operator,", LineName::host_set},
        {"@channel,0,unit,U-1", LineName::host_channel},
        {"@sent,go%2A29B1", LineName::host_sent},
        {"@at,4294967295,1767225600000000", LineName::host_at},
        {"@note,", LineName::host_note},
        {"@damaged,%00%FF", LineName::host_damaged},
        {"@resumed,1767225600000000", LineName::host_resumed},
        {seal_of_a.c_str(), LineName::host_seal},
        {"@seal,x,y", LineName::host_seal}, // the seal check says that it does not hold
        {"@close,count,,", LineName::host_close},
        {"@ending,count", LineName::host_ending},
        {"@weather,fine", LineName::unknown},
    };
    for (const Shape& line : good)
        EXPECT_EQ(name_of(line.body), line.name) << line.body;
}

TEST(Line, TakesAFieldThatIsMissingEmptyOrNoNumberForDamage) {
    const char* const bad[] = {"hello,0,5,1,A1,4",
                               "hello,0,5,1,,4,fw",
                               "hello,0,5,1,A1,4,",
                               "hello,0,5,x,A1,4,fw",
                               "hello",
                               "hello,0",
                               "travel,1,2",
                               "travel,1,2,",
                               "travel,1,2,-",
                               "travel,1,2,--5",
                               "travel,1,2,+5",
                               "travel,1,2,5.0",
                               "travel,1,2, 5",
                               "travel,1,2,0x5",
                               "travel,1,,5",
                               "travel,,2,5",
                               "travel,-1,2,5",
                               "travel,1,-2,5",
                               "drop,1,2,0,0,5",
                               "drop,1,2,0,,5,1",
                               "drop,1,2,-1,0,5,1",
                               "pulse,1,2,0,0,5",
                               "pulse,1,2,0,0,5,",
                               "pulse,1,2,0,-1,5,6",
                               "pulse,1,2,0,0,5,6x",
                               "beat,1,2,3",
                               "beat,1,2,3,-4",
                               "fault,1,2,0",
                               "fault,1,2,0,",
                               "fault,1,2,-2,estop",
                               "fault,1,2,x,estop",
                               "armed,1",
                               "started,x,1",
                               "halted,1,2,",
                               "refused,1,2",
                               "refused,1,2,",
                               ",1,2",
                               ",",
                               "@set,mode",
                               "@droplog",
                               "@droplog,1",
                               "@droplog,1,2",
                               "@channel,0,unit",
                               "@channel,x,unit,U",
                               "@channel,-1,unit,U",
                               "@channel,256,unit,U",
                               "@sent",
                               "@at,1",
                               "@at,x,5",
                               "@at,1,x",
                               "@note",
                               "@damaged",
                               "@resumed",
                               "@resumed,",
                               "@seal,1",
                               "@close,count,"};
    for (const char* body : bad)
        EXPECT_EQ(name_of(body), LineName::damaged) << body;
}

TEST(Line, RefusesEveryNumberOnePastItsGreatest) {
    struct Edge {
        const char* format;
        const char* greatest;
        const char* past;
    };
    const Edge edges[] = {
        {"travel,{},2,5", "4294967295", "4294967296"},
        {"travel,1,{},5", "4294967295", "4294967296"},
        {"travel,1,2,{}", "900000000000000000", "900000000000000001"},
        {"travel,1,2,{}", "-900000000000000000", "-900000000000000001"},
        {"drop,1,2,{},0,5,1", "255", "256"},
        {"drop,1,2,0,{},5,1", "4294967295", "4294967296"},
        {"drop,1,2,0,0,5,{}", "4294967295", "4294967296"},
        {"pulse,1,2,{},0,5,6", "255", "256"},
        {"pulse,1,2,0,{},5,6", "65535", "65536"},
        {"pulse,1,2,0,0,{},6", "4294967295", "4294967296"},
        {"pulse,1,2,0,0,5,{}", "65535", "65536"},
        {"beat,1,2,{},0", "4294967295", "4294967296"},
        {"beat,1,2,0,{}", "4294967295", "4294967296"},
        {"hello,1,2,{},A,1,f", "4294967295", "4294967296"},
        {"hello,1,2,1,A,{},f", "4294967295", "4294967296"},
        {"fault,1,2,{},estop", "255", "256"},
        {"@at,{},5", "4294967295", "4294967296"},
        {"@at,1,{}", "999999999999999999", "1000000000000000000"},
        {"@resumed,{}", "999999999999999999", "1000000000000000000"},
        {"@channel,{},unit,U", "255", "256"},
        {"travel,1,{},5", "000000000000000007", "0000000000000000007"},    // 18 digits, 19
        {"travel,1,{},5", "1", "18446744073709551617"},                    // 2^64 + 1
        {"travel,1,{},5", "1", "340282366920938463463374607431768211457"}, // 2^128 + 1
    };
    for (const Edge& edge : edges) {
        EXPECT_NE(name_of(fmt::format(fmt::runtime(edge.format), edge.greatest)), LineName::damaged)
            << edge.format << " " << edge.greatest;
        EXPECT_EQ(name_of(fmt::format(fmt::runtime(edge.format), edge.past)), LineName::damaged)
            << edge.format << " " << edge.past;
    }
}

TEST(Line, ReadsTheNumbersOfEachName) {
    const Record drop = decode(checked("drop,7,8,3,12,-180000,2"));
    EXPECT_EQ(drop.seq, 7U);
    EXPECT_EQ(drop.tick_us, 8U);
    EXPECT_EQ(drop.channel, 3);
    EXPECT_EQ(drop.index, 12U);
    EXPECT_EQ(drop.position_um, -180'000);
    EXPECT_EQ(drop.count, 2U);
    const Record pulse = decode(checked("pulse,123456789,4294967295,255,1,65536,999"));
    EXPECT_EQ(pulse.seq, 123'456'789U);
    EXPECT_EQ(pulse.tick_us, 4'294'967'295U);
    EXPECT_EQ(pulse.channel, 255);
    EXPECT_EQ(pulse.gate, 1U);
    EXPECT_EQ(pulse.width_us, 65'536U);
    EXPECT_EQ(pulse.depth_milli, 999U);
    const Record beat = decode(checked("beat,1,2,17,18"));
    EXPECT_EQ(beat.index, 17U);
    EXPECT_EQ(beat.count, 18U);
    EXPECT_EQ(decode(checked("fault,1,2,-1,estop")).channel, -1);
    const Record hello = decode(checked("hello,1,2,1,A1,4,fw"));
    EXPECT_EQ(hello.index, 1U);
    EXPECT_EQ(hello.count, 4U);
}

TEST(Line, SkipsExtraFieldsAndSaysSo) {
    for (const char* body :
         {"travel,1,2,5,6", "pulse,1,2,0,1,5,6,7,8", "armed,1,2,why", "halted,1,2,host,why",
          "hello,1,2,1,A,4,fw,more", "beat,1,2,0,0,", "@note,a,b", "@close,count,,,more"}) {
        EXPECT_NE(name_of(body), LineName::damaged) << body;
        EXPECT_TRUE(decode(checked(body)).extra_fields) << body;
    }
    EXPECT_FALSE(decode(checked("travel,1,2,5")).extra_fields);
    EXPECT_FALSE(decode(checked("@note,a")).extra_fields);
}

TEST(Line, HoldsTwoHundredAndFortyBytesWithItsLfAndNotOneMore) {
    const std::string fits = "@note," + std::string(228, 'x');
    ASSERT_EQ(checked(fits).size() + 1, longest_line);
    EXPECT_EQ(name_of(fits), LineName::host_note);
    EXPECT_EQ(decode(checked(fits) + "\r").name, LineName::host_note);
    EXPECT_EQ(encode(fits), checked(fits));
    EXPECT_EQ(name_of(fits + "x"), LineName::damaged);
    EXPECT_THROW(static_cast<void>(encode(fits + "x")), BrokenInvariant);
}

TEST(Line, ToleratesOneCrAtItsEndAndNoneElsewhere) {
    EXPECT_EQ(decode(checked("armed,1,2") + "\r").name, LineName::armed);
    EXPECT_EQ(decode(checked("armed,1,2") + "\r\r").name, LineName::damaged);
    EXPECT_EQ(name_of("armed,1,2\r"), LineName::damaged);
    EXPECT_EQ(name_of("@note,a\rb"), LineName::damaged);
}

TEST(Line, TakesAByteThatIsNotPrintableAsciiForDamageInEveryTextField) {
    for (const char* body :
         {"hello,1,2,1,{},4,fw", "hello,1,2,1,A,4,{}", "fault,1,2,0,{}", "halted,1,2,{}",
          "refused,1,2,{}", "travel,1,2,3,{}", "wea{}ther,1,2", "@note,{}", "@wea{}ther"}) {
        EXPECT_NE(name_of(fmt::format(fmt::runtime(body), "a")), LineName::damaged) << body;
        for (const char* byte : {"\x1f", "\x7f", "\x80", "\xc3\xa4", "\t"})
            EXPECT_EQ(name_of(fmt::format(fmt::runtime(body), byte)), LineName::damaged) << body;
    }
}

TEST(Line, NeedsItsCheckInFourUpperCaseDigits) {
    const std::string good = checked("@note,a check with letters: 4");
    ASSERT_EQ(decode(good).name, LineName::host_note);
    ASSERT_NE(good.find_first_of("ABCDEF", good.size() - 4), std::string::npos) << good;
    std::string lower = good;
    for (std::size_t i = good.size() - 4; i < good.size(); ++i)
        lower[i] = static_cast<char>(std::tolower(static_cast<unsigned char>(lower[i])));
    for (const std::string& bad :
         {lower, good.substr(0, good.size() - 1), good + "0", good + " ", std::string{},
          std::string{"*"}, std::string{"*FFFF"}, good.substr(0, good.size() - 5)})
        EXPECT_EQ(decode(bad).name, LineName::damaged) << bad;
}

TEST(Line, IsDamagedByAnyOneChangedByte) {
    const std::string good = drop_line({12, 345'678}, {1, 9, 1'620'000, 1});
    for (std::size_t i = 0; i < good.size(); ++i)
        for (int value = 0; value < 256; ++value) {
            std::string bad = good;
            bad[i] = static_cast<char>(value);
            if (bad != good) {
                ASSERT_EQ(decode(bad).name, LineName::damaged) << bad;
            }
        }
}

TEST(Line, DecodesWhatWasEncodedForRandomNumbers) {
    std::mt19937_64 random{11};
    const auto u32 = [&] { return static_cast<std::uint32_t>(random() >> (random() % 33 + 31)); };
    for (int i = 0; i < 20'000; ++i) {
        const Stamp at{u32(), u32()};
        const int channel = static_cast<int>(random() % 256);
        const std::int64_t position_um =
            static_cast<std::int64_t>(random() >> (random() % 63)) % 900'000'000'000'000'000;
        const DropLine drop{channel, u32(), position_um, u32()};
        const Record found = decode(drop_line(at, drop));
        ASSERT_EQ(found.name, LineName::drop);
        ASSERT_EQ(found.seq, at.seq);
        ASSERT_EQ(found.tick_us, at.tick_us);
        ASSERT_EQ(found.channel, channel);
        ASSERT_EQ(found.index, drop.index);
        ASSERT_EQ(found.position_um, position_um);
        ASSERT_EQ(found.count, drop.count);
        const PulseLine pulse{channel, u32() & 0xffffU, u32(), u32() & 0xffffU};
        const Record seen = decode(pulse_line(at, pulse));
        ASSERT_EQ(seen.name, LineName::pulse);
        ASSERT_EQ(seen.gate, pulse.gate);
        ASSERT_EQ(seen.width_us, pulse.width_us);
        ASSERT_EQ(seen.depth_milli, pulse.depth_milli);
        ASSERT_EQ(decode(travel_line(at, -position_um)).position_um, -position_um);
        ASSERT_EQ(decode(beat_line(at, drop.index, drop.count)).count, drop.count);
    }
}

TEST(Line, PercentEncodesTextThatWouldBreakIt) {
    const std::string line = hello_line({0, 0}, {1, "a,b*c%d\xff", 2, "1\n2"});
    const auto fields = fields_of(*checked_body(line));
    ASSERT_EQ(fields.size(), 7U);
    EXPECT_EQ(percent_decode(fields[4]), "a,b*c%d\xff");
    EXPECT_EQ(percent_decode(fields[6]), "1\n2");
    EXPECT_EQ(decode(line).name, LineName::hello);
}

TEST(Line, RefusesToEncodeWhatIsNoLine) {
    for (const char* body : {"", "@note,\n", "@note,\xc3\xa4", "@note,\x7f"})
        EXPECT_THROW(static_cast<void>(encode(body)), BrokenInvariant);
}

TEST(Line, TellsLinesOfTheSameNumbersApart) {
    EXPECT_NE(decode(checked("travel,1,2,5")).check, decode(checked("travel,1,2,05")).check);
    EXPECT_NE(decode(checked("halted,1,2,host")).check, decode(checked("halted,1,2,count")).check);
}
