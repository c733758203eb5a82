#include "bench/capture/capture.hpp"

#include "analysis/base/readers/open_string.hpp"
#include "analysis/droplog/reader.hpp"
#include "analysis/droplog/soundness.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace dropledger::capture {
namespace {

const std::string wiring =
    "[travel]\nspeed_mps = 0.5\n[[channel]]\nchannel = 0\ncommand = \"V\"\n"
    "command_glitch_us = 50\ngate1 = \"G\"\ngate1_dark = \"high\"\ngate1_glitch_us = 30\n";

struct Toggle {
    std::int64_t at_us;
    char wire; // V or G
    int level;
};

std::string dump(const std::vector<Toggle>& toggles, std::int64_t end_us) {
    std::string text = "$timescale 1 us $end $var wire 1 V V $end $var wire 1 G G $end "
                       "$enddefinitions $end\n#0 0V 0G\n";
    for (const Toggle& one : toggles)
        text += fmt::format("#{}\n{}{}\n", one.at_us, one.level, one.wire);
    return text + fmt::format("#{}\n", end_us);
}

struct Made {
    Captured captured;
    std::vector<std::string> lines; // bodies of controller lines
    std::string text;
};

Result<Made> make(const std::string& vcd, const std::string& wiring_text = wiring,
                  const std::string& mode = "single") {
    Made made;
    Request request{.open = open_string(vcd),
                    .where = "run.vcd",
                    .wiring = parse_wiring(wiring_text, "w.toml").value(),
                    .wiring_text = wiring_text,
                    .head = {},
                    .counted = {},
                    .key = std::nullopt,
                    .sink = [&made](std::string_view line) { made.text += line; }};
    request.head.started = "2026-03-20T08:00:00Z";
    request.head.run = {
        {"mode", mode}, {"spacing_um", "100000"}, {"count", "1"}, {"speed_um_s", "500000"}};
    request.head.channels[0] = {{"unit", "SU-0201"}, {"lead_us", "40000"}};
    auto captured = capture_to_log(request);
    if (!captured)
        return captured.error();
    made.captured = *captured;
    for (std::size_t at = 0; at < made.text.size();) {
        const std::size_t end = made.text.find('\n', at);
        const std::string line = made.text.substr(at, end - at);
        if (!line.starts_with('@'))
            made.lines.push_back(line.substr(0, line.size() - 5));
        at = end + 1;
    }
    return made;
}

// SEQ is left out, for travel lines stand in between.
std::vector<std::string> named(const Made& made, std::string_view name) {
    std::vector<std::string> found;
    for (const std::string& line : made.lines)
        if (line.starts_with(name)) {
            const std::size_t after_seq = line.find(',', line.find(',') + 1);
            found.push_back(line.substr(after_seq + 1));
        }
    return found;
}

using Lines = std::vector<std::string>;

// At 0.5 m/s a command at 1,000,000 us with a lead of 40 ms means 0.52 m.
TEST(Capture, TurnsEdgesIntoDropsAndBeamsIntoPulses) {
    const auto made = make(dump({{1'000'000, 'V', 1},
                                 {1'004'000, 'V', 0},
                                 {1'030'001, 'G', 1},
                                 {1'030'801, 'G', 0},
                                 {1'200'000, 'V', 1},
                                 {1'204'000, 'V', 0}},
                                2'000'000));
    ASSERT_TRUE(made) << made.error().message();
    EXPECT_EQ(named(*made, "drop"), (Lines{"1000000,0,0,520000,1", "1200000,0,1,620000,1"}));
    EXPECT_EQ(named(*made, "pulse"), (Lines{"1030001,0,1,800,0"}));
    EXPECT_EQ(named(*made, "hello").size(), 1U);
    EXPECT_EQ(named(*made, "halted"), (Lines{"2000000,host"}));
    EXPECT_EQ(named(*made, "travel").front(), "0,0");
    EXPECT_EQ(named(*made, "travel").back(), "2000000,1000000");
    EXPECT_EQ(made->captured.step_ps, ps_per_us);
}

TEST(Capture, LeavesGlitchesOut) {
    const auto made = make(dump({{500'001, 'V', 1},
                                 {500'031, 'V', 0}, // 30 us of a command: noise
                                 {700'000, 'G', 1},
                                 {700'029, 'G', 0}, // 29 us of a beam: dust
                                 {900'000, 'G', 1},
                                 {900'100, 'G', 0}, // bounces back once, for 20 us
                                 {900'120, 'G', 1},
                                 {900'600, 'G', 0}},
                                2'000'000));
    ASSERT_TRUE(made) << made.error().message();
    EXPECT_EQ(named(*made, "drop"), Lines{});
    EXPECT_EQ(named(*made, "pulse"), (Lines{"900000,0,1,600,0"}));
    EXPECT_EQ(made->captured.counts.channels.at(0).glitches, 3U);
}

TEST(Capture, SaysThatAGateIsBlocked) {
    const auto made =
        make(dump({{400'001, 'G', 1}, {900'000, 'G', 0}, {1'000'000, 'G', 1}}, 1'100'007));
    ASSERT_TRUE(made) << made.error().message();
    EXPECT_EQ(named(*made, "pulse"), (Lines{"400001,0,1,45000,0", "1000000,0,1,45000,0"}));
    EXPECT_EQ(named(*made, "fault"), (Lines{"650001,0,gate_blocked"}));
}

TEST(Capture, TakesABeamThatWasDarkAtTheBeginningForNoSeed) {
    const auto made =
        make("$timescale 1 us $end $var wire 1 V V $end $var wire 1 G G $end "
             "$enddefinitions $end\n#0 0V 1G\n#300001 0G\n#400000 1G\n#400500 0G\n#900000\n");
    ASSERT_TRUE(made) << made.error().message();
    EXPECT_EQ(named(*made, "pulse"), (Lines{"400000,0,1,500,0"}));
    EXPECT_EQ(named(*made, "fault"), (Lines{"250000,0,gate_blocked"}));
}

TEST(Capture, BeginsItsTimeAtTheFirstStamp) {
    const auto made =
        make("$timescale 1 us $end $var wire 1 V V $end $var wire 1 G G $end "
             "$enddefinitions $end\n#90000000000 0V 0G\n#90000100001 1G\n#90000100601 "
             "0G\n#90000300000\n");
    ASSERT_TRUE(made) << made.error().message();
    EXPECT_EQ(named(*made, "pulse"), (Lines{"100001,0,1,600,0"}));
}

TEST(Capture, IsACompleteAndSoundLogThatIsTheSameAgain) {
    const std::string vcd =
        dump({{1'000'000, 'V', 1}, {1'004'000, 'V', 0}, {1'030'001, 'G', 1}, {1'030'800, 'G', 0}},
             2'000'000);
    const auto made = make(vcd);
    const auto again = make(vcd);
    ASSERT_TRUE(made && again);
    EXPECT_EQ(made->text, again->text);
    StringSource source(made->text);
    const auto read = droplog::check_log(source, "made.droplog");
    ASSERT_TRUE(read) << read.error().message();
    EXPECT_TRUE(droplog::is_sound(read->integrity));
    EXPECT_NE(made->text.find("@set,capture_sha256," + made->captured.sha256), std::string::npos);
    EXPECT_NE(made->text.find("@set,capture_step_ps,1000000*"), std::string::npos);
}

TEST(Capture, RefusesSamplesThatSeedsFallBetween) {
    const auto made = make(
        dump({{1'000'000, 'V', 1}, {1'004'000, 'V', 0}, {1'030'000, 'G', 1}, {1'031'000, 'G', 0}},
             2'000'000));
    ASSERT_FALSE(made);
    EXPECT_NE(made.error().message().find("one sample is 1000 us"), std::string::npos)
        << made.error().message();
}

TEST(Capture, DoubtsWidthsThatAreCoarse) {
    const auto made = make(
        dump({{1'000'000, 'V', 1}, {1'004'000, 'V', 0}, {1'030'100, 'G', 1}, {1'030'300, 'G', 0}},
             2'000'000));
    ASSERT_TRUE(made) << made.error().message();
    ASSERT_EQ(made->captured.doubts.size(), 2U);
    EXPECT_NE(made->captured.doubts[0].find("widths are coarse"), std::string::npos);
    EXPECT_NE(made->captured.doubts[1].find("1 of 1 pulses last two samples"), std::string::npos);
}

TEST(Capture, WantsTheCommandWhereDropsAreCommanded) {
    const std::string bare = "[travel]\nspeed_mps = 0.5\n[[channel]]\nchannel = 0\ngate1 = "
                             "\"G\"\ngate1_dark = \"high\"\n";
    const std::string vcd = dump({{1'030'001, 'G', 1}, {1'030'800, 'G', 0}}, 2'000'000);
    const auto single = make(vcd, bare);
    ASSERT_FALSE(single);
    EXPECT_NE(single.error().message().find("no command is wired"), std::string::npos);
    EXPECT_TRUE(make(vcd, bare, "line"));
}

TEST(Capture, SaysThatNothingHappensOnTheWiredSignals) {
    const auto made = make(dump({}, 2'000'000));
    ASSERT_FALSE(made);
    EXPECT_NE(made.error().message().find("nothing changes"), std::string::npos);
}

} // namespace
} // namespace dropledger::capture
