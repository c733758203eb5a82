// Lines that contradict each other, and junk without end.
#include "bench/recorder/flood.hpp"
#include "bench/recorder/protocol/lines/taken_lines.hpp"

#include "a_recorder.hpp"

#include <fmt/format.h>

namespace dropledger::recorder {
namespace {

// The same line with another width, and a right check.
std::string other_width(const std::string& pulse) {
    auto fields = droplog::fields_of(*droplog::checked_body(pulse));
    return droplog::encode(fmt::format("pulse,{},{},{},{},901,{}", fields[1], fields[2], fields[3],
                                       fields[4], fields[6]));
}

std::string without_lf(std::string line) {
    line.pop_back();
    return line;
}

TEST(TakenLines, NoticesAnotherLineUnderASeqThatItKnows) {
    TakenLines taken;
    EXPECT_FALSE(taken.differs(0, "a"));
    taken.remember(7, "a");
    taken.remember(8, "b");
    EXPECT_FALSE(taken.differs(7, "a"));
    EXPECT_TRUE(taken.differs(7, "b"));
    EXPECT_TRUE(taken.differs(8, "a"));
    EXPECT_FALSE(taken.differs(6, "x"));
    EXPECT_FALSE(taken.differs(9, "x"));
    taken.forget();
    EXPECT_FALSE(taken.differs(8, "a"));
}

TEST(TakenLines, KnowsTheLatest65536) {
    TakenLines taken;
    for (std::uint32_t seq = 4'294'967'000U; seq != 70'000U; ++seq)
        taken.remember(seq, "a");
    EXPECT_TRUE(taken.differs(69'999U - 65'535U, "b"));
    EXPECT_FALSE(taken.differs(69'999U - 65'536U, "b"));
}

TEST(Flood, AdmitsABurstAndThenItsPace) {
    Flood flood;
    Microseconds now{5'000'000};
    int kept = 0;
    for (int i = 0; i < 10'000; ++i)
        kept += flood.admits("xy", now) ? 1 : 0;
    EXPECT_EQ(kept, 2000);
    EXPECT_EQ(flood.take_remark(),
              "8000 more damaged pieces, 16000 bytes, came too fast to be kept");
    EXPECT_FALSE(flood.take_remark());
    now += Microseconds{1'000'000};
    for (int i = 0; i < 10'000; ++i)
        kept += flood.admits("xy", now) ? 1 : 0;
    EXPECT_EQ(kept, 2200);
}

// 2026-11-25: a second line under one SEQ was taken for a repeat and left no trace.
TEST_F(Recorder, KeepsALineThatContradictsTheLogAndTheRunIsNotAsPlanned) {
    int pulses = 0;
    fake.wire = [&](std::string line) {
        if (!line.starts_with("pulse,") || ++pulses != 5)
            return line;
        return line + other_width(without_lf(line)) + '\n' + other_width(without_lf(line)) + '\n';
    };
    const auto summary = run();
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->end_reason, "count");
    EXPECT_FALSE(summary->as_planned);
    EXPECT_EQ(summary->counts.conflicting, 2U);
    const auto integrity = integrity_of(log());
    EXPECT_EQ(integrity.lines.conflicting, 1U); // kept once
    EXPECT_EQ(integrity.sequence_gaps, 0U);
    EXPECT_EQ(summary->tally.channels().at(0).pulses, 20U);
}

TEST_F(Recorder, GoesOnInALogThatHoldsAContradiction) {
    fake.forgets = false;
    int pulses = 0;
    fake.wire = [&](std::string line) {
        if (!line.starts_with("pulse,") || ++pulses != 5)
            return line;
        return line + other_width(without_lf(line)) + '\n';
    };
    ASSERT_TRUE(run());
    const std::string whole = log();
    const std::size_t drop_12 = whole.find("drop,", whole.find(",11,1980000,"));
    files::put_content(path, whole.substr(0, drop_12));
    const auto rest = go_on();
    ASSERT_TRUE(rest) << rest.error().message();
    EXPECT_EQ(integrity_of(log()).lines.conflicting, 1U);
    EXPECT_EQ(integrity_of(log()).sequence_gaps, 0U);
    EXPECT_EQ(count_of(log(), "drop,"), 20U);
    EXPECT_EQ(rest->tally.channels().at(0).pulses, 20U);
    // 26 November, found by a campaign: it was called as planned, for nothing came twice any more.
    EXPECT_EQ(rest->counts.conflicting, 1U);
    EXPECT_FALSE(rest->as_planned);
}

TEST_F(Recorder, IsNotAsPlannedWhereTheLogThatItGoesOnInLacksLines) {
    fake.forgets = false;
    ASSERT_TRUE(run());
    const std::string whole = log();
    const std::size_t sixth = whole.find("pulse,", whole.find(",5,900000,"));
    std::string lacking = whole.substr(0, sixth) + whole.substr(whole.find('\n', sixth) + 1);
    lacking.resize(lacking.find("@seal,", lacking.find("halted,")));
    lacking = lacking.substr(0, lacking.rfind("@ending,"));
    files::put_content(path, lacking);
    const auto rest = go_on();
    ASSERT_TRUE(rest) << rest.error().message();
    EXPECT_EQ(rest->end_reason, "count");
    EXPECT_EQ(rest->conceded, 1U);
    EXPECT_FALSE(rest->as_planned);
}

TEST_F(Recorder, BelievesNeitherOfTwoEarlyLinesThatDiffer) {
    int pulses = 0;
    int drops = 0;
    fake.wire = [&](std::string line) {
        if (line.starts_with("drop,") && ++drops == 5)
            return std::string{}; // so that its pulse comes early
        if (!line.starts_with("pulse,") || ++pulses != 5)
            return line;
        return other_width(without_lf(line)) + '\n' + line;
    };
    const auto summary = run();
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_TRUE(summary->as_planned);
    expect_complete();
    expect_all_made();
}

TEST_F(Recorder, TakesLinesOfAnotherBootForNoContradiction) {
    int hellos = 0;
    fake.wire = [&](std::string line) {
        return line.starts_with("hello,0,") && hellos++ == 1 ? "" : line; // the second boot's
    };
    fake.at(2'500'000, [this] { fake.boot(); });
    const auto summary = run(100);
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->end_reason, "reset");
    EXPECT_EQ(summary->counts.conflicting, 0U);
    EXPECT_EQ(integrity_of(log()).lines.conflicting, 0U);
}

// 2026-11-25: 230 MB of @damaged in 17 s.
TEST_F(Recorder, CountsAFloodOfJunkAndKeepsItsBeginning) {
    fake.at(2'000'000, [this] {
        std::string junk;
        for (int i = 0; i < 200'000; ++i)
            junk += "x\n";
        fake.put(junk);
    });
    const auto summary = run(60);
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->counts.damaged, 200'000U);
    EXPECT_LT(count_of(log(), "@damaged,"), 3000U);
    EXPECT_GE(count_of(log(), "@damaged,"), 2000U);
    EXPECT_NE(log().find("came too fast to be kept"), std::string::npos);
    EXPECT_EQ(count_of(log(), "drop,"), 60U);
    expect_complete();
}

// 2026-11-25: "lines are lost for good" and exit 0.
TEST_F(Recorder, IsNotAsPlannedWithLinesLost) {
    fake.loses = [](std::uint32_t seq) { return seq == 60; };
    const auto summary = run(200);
    ASSERT_TRUE(summary);
    EXPECT_EQ(summary->end_reason, "count");
    EXPECT_GT(summary->conceded + summary->counts.lost, 0U);
    EXPECT_FALSE(summary->as_planned);
}

} // namespace
} // namespace dropledger::recorder
