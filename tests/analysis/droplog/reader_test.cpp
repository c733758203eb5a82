#include "analysis/droplog/reader.hpp"

#include "tests/analysis/droplog/logs.hpp"
#include "tests/fuzz/reference.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::droplog;

namespace {

// Controller lines after a greeting at SEQ 0, closed.
Integrity of_lines(const std::vector<std::string>& lines) {
    const auto reading = check(written([&](Writer& writer) {
        begin_run(writer);
        writer.controller(hello_line({0, 0}, {1, "A", 1, "fw"}));
        for (const std::string& line : lines)
            writer.controller(line);
        writer.close("count", {});
    }));
    EXPECT_TRUE(reading);
    return reading->integrity;
}

std::vector<std::string> told(const std::string& log) {
    StringSource source{log};
    Told consumer;
    EXPECT_TRUE(read_log(source, "test.droplog", consumer));
    return consumer.says;
}

std::string hello(std::uint32_t seq, const std::string& boot) {
    return hello_line({seq, 0}, {1, boot, 1, "fw"});
}

} // namespace

TEST(Reader, CountsAGapAndTheLinesItLeftOut) {
    const Integrity found = of_lines({travel_line({1, 1}, 0), travel_line({5, 2}, 0)});
    EXPECT_EQ(found.sequence_gaps, 1U);
    EXPECT_EQ(found.missing_lines, 3U);
    EXPECT_FALSE(every_line_is_there(found));
    EXPECT_FALSE(found.complete());
}

TEST(Reader, TakesARepeatOnceAndAConflictNotAtAll) {
    const Integrity found =
        of_lines({travel_line({1, 1}, 0), travel_line({1, 1}, 0), travel_line({1, 1}, 7)});
    EXPECT_EQ(found.lines.repeated, 1U);
    EXPECT_EQ(found.lines.conflicting, 1U);
    EXPECT_EQ(found.conflict_at, std::vector<std::uint64_t>{8});
    EXPECT_TRUE(every_line_is_there(found)); // the conflict is told beside it
}

TEST(Reader, LetsAnUnknownControllerLineUseUpItsSeq) {
    const Integrity found = of_lines({encode("weather,1,5,fine"), travel_line({2, 6}, 0),
                                      encode("weather,1,5,fine"), encode("weather,1,5,wet")});
    EXPECT_EQ(found.lines.unknown, 1U);
    EXPECT_EQ(found.lines.repeated, 1U);
    EXPECT_EQ(found.lines.conflicting, 1U);
    EXPECT_EQ(found.sequence_gaps, 0U);
}

TEST(Reader, SkipsUnknownNamesAndExtraFieldsAndCountsThem) {
    const auto reading = check(written([](Writer& writer) {
        begin_run(writer);
        writer.controller(encode("weather"));
        writer.controller(encode("@weather,fine"));
        writer.controller(encode("travel,0,1,5,more"));
        writer.controller(encode("@note,a,b"));
        writer.close("count", {});
    }));
    ASSERT_TRUE(reading);
    EXPECT_EQ(reading->integrity.lines.unknown, 2U);
    EXPECT_EQ(reading->integrity.extra_fields, 2U);
    EXPECT_TRUE(every_line_is_there(reading->integrity));
}

TEST(Reader, AddsUpWhatWasLostInEveryBoot) {
    const Integrity found =
        of_lines({beat_line({1, 1}, 0, 2), beat_line({2, 2}, 0, 5), hello(0, "B"),
                  beat_line({1, 1}, 0, 0), hello(0, "C"), beat_line({1, 1}, 0, 3)});
    EXPECT_EQ(found.boots, 3U);
    EXPECT_EQ(found.lost, 8U);
    EXPECT_EQ(found.sequence_gaps, 0U);
    EXPECT_FALSE(every_line_is_there(found));
    EXPECT_FALSE(found.complete());
}

TEST(Reader, CountsTheHoleBeforeAHelloThatIsNotTheFirstLineOfItsBoot) {
    const Integrity found = of_lines({travel_line({1, 1}, 0), hello(2, "B")});
    EXPECT_EQ(found.sequence_gaps, 1U);
    EXPECT_EQ(found.missing_lines, 2U);
    EXPECT_EQ(found.boots, 2U);
}

TEST(Reader, TakesALateLineUpToASecondAndCountsWhatIsLater) {
    const Integrity in_time =
        of_lines({travel_line({1, 2'000'000}, 0), travel_line({2, 1'950'000}, 0)});
    EXPECT_EQ(in_time.late, 0U);
    const Integrity late =
        of_lines({travel_line({1, 2'000'000}, 0), travel_line({2, 1'949'999}, 0)});
    EXPECT_EQ(late.late, 1U);
    EXPECT_EQ(late.lines.out_of_order, 0U);
    EXPECT_TRUE(every_line_is_there(late));
    const Integrity too_late =
        of_lines({travel_line({1, 2'000'000}, 0), travel_line({2, 999'999}, 0)});
    EXPECT_EQ(too_late.lines.out_of_order, 1U);
    EXPECT_EQ(too_late.late, 0U);
    EXPECT_FALSE(every_line_is_there(too_late));
    EXPECT_FALSE(too_late.complete());
}

TEST(Reader, UnwrapsTheTickForTheConsumer) {
    const auto says = told(written([](Writer& writer) {
        writer.controller(travel_line({0, 4'294'967'000U}, 0));
        writer.controller(travel_line({1, 20'000}, 5));
        writer.controller(travel_line({2, 4'294'967'290U}, 4));
    }));
    const std::vector<std::string> expected{"begin ", "1 @4294967000 travel,0,4294967000,0",
                                            "2 @4294987296 travel,1,20000,5",
                                            "3 @4294967290 travel,2,4294967290,4"};
    EXPECT_EQ(says, expected);
}

TEST(Reader, HandsOnUsedControllerLinesInFileOrderAfterTheSettings) {
    const auto says = told(written([](Writer& writer) {
        writer.start("RUN", "2026-03-02T08:00:00Z");
        writer.controller(hello(0, "A"));
        writer.set("mode", "single");
        writer.controller(travel_line({1, 5}, 0));
        writer.controller(travel_line({1, 5}, 0));
        writer.controller(hello(0, "B"));
        writer.controller(travel_line({1, 9}, 0));
    }));
    const std::vector<std::string> expected{"begin RUN", "4 @5 travel,1,5,0", "reboot",
                                            "6 @0 hello,0,0,1,B,1,fw", "7 @9 travel,1,9,0"};
    EXPECT_EQ(says, expected);
}

TEST(Reader, BeginsOnceForALogWithoutControllerLines) {
    EXPECT_EQ(told(written(begin_run)),
              std::vector<std::string>{"begin 2b7e1516-28ae-4d2a-abf7-158809cf4f3c"});
}

TEST(Reader, TakesSettingsUntilTheRunsFirstLineAndCountsLaterOnes) {
    const auto reading = check(written([](Writer& writer) {
        begin_run(writer);
        writer.set("crop", "chicory");
        writer.set("crop", "red beet, early");
        writer.controller(hello(0, "A"));
        writer.channel_set(1, "row", "2");
        writer.controller(travel_line({1, 5}, 0));
        writer.set("crop", "coriander");
        writer.channel_set(1, "row", "3");
    }));
    ASSERT_TRUE(reading);
    EXPECT_EQ(*reading->header.find("crop"), "red beet, early");
    EXPECT_EQ(reading->header.number(1, "row"), 2);
    EXPECT_EQ(reading->header.find("no_such"), nullptr);
    EXPECT_EQ(reading->header.find(7, "row"), nullptr);
    EXPECT_EQ(reading->header.number("crop"), std::nullopt);
    EXPECT_EQ(reading->integrity.late_settings, 2U);
}

TEST(Reader, CountsKeptDamageAsDamage) {
    const auto reading = check(written([](Writer& writer) {
        begin_run(writer);
        writer.damaged("tr\x80vel");
        writer.close("count", {});
    }));
    ASSERT_TRUE(reading);
    EXPECT_EQ(reading->integrity.lines.damaged, 1U);
    EXPECT_EQ(reading->integrity.damaged_at, std::vector<std::uint64_t>{5});
    EXPECT_TRUE(reading->integrity.seals.intact);
}

TEST(Reader, IsCompleteOnlyWhereTheLastLineCloses) {
    const std::string log = healthy_log(3);
    EXPECT_TRUE(check(log)->integrity.complete());
    EXPECT_FALSE(check(log + encode("@note,after") + "\n")->integrity.complete());
    EXPECT_FALSE(check(log + "x\n")->integrity.complete());
    EXPECT_FALSE(check(log + "x")->integrity.complete());
    EXPECT_TRUE(check(log + "x")->integrity.torn_tail);
}

TEST(Reader, TakesNoSignatureFromACloseThatIsNotTheLastLine) {
    PrivateKey key{};
    const std::string log = healthy_log(3, key);
    EXPECT_TRUE(check(log)->integrity.is_signed);
    const Integrity found = check(log + encode("@note,after") + "\n")->integrity;
    EXPECT_FALSE(found.is_signed);
    EXPECT_FALSE(found.bad_signature);
}

TEST(Reader, ReportsATornTailWhereverTheLogIsCut) {
    const std::string log = healthy_log(30);
    ASSERT_GT(log.size(), 1024U);
    for (std::size_t size = log.size() - 1024; size < log.size(); ++size) {
        const auto reading = check(log.substr(0, size));
        ASSERT_TRUE(reading);
        const Integrity& found = reading->integrity;
        EXPECT_EQ(found.torn_tail, log[size - 1] != '\n') << size;
        EXPECT_FALSE(found.complete()) << size;
        EXPECT_EQ(found.lines.used, found.lines.total()) << size;
        EXPECT_EQ(found.lines.used,
                  lines_of(log.substr(0, size)).size() - (found.torn_tail ? 1 : 0));
        EXPECT_TRUE(found.seals.intact) << size;
    }
}

TEST(Reader, RefusesWhatIsNoDroplog) {
    struct Case {
        const char* content;
        const char* says;
    };
    const Case cases[] = {{"", "no whole line"},
                          {"no line end", "no whole line"},
                          {"drop,x,depth_mm\n0,1,20\n", "not one of its 2 lines"},
                          {"\n\n\n", "not one of its 3 lines"},
                          {"\x7f"
                           "ELF\x02\x01\x01\n",
                           "not one of its 1 lines"}};
    for (const Case& bad : cases) {
        const auto reading = check(bad.content);
        ASSERT_FALSE(reading) << bad.content;
        EXPECT_EQ(reading.error().kind, ErrorKind::input);
        EXPECT_NE(reading.error().message().find(bad.says), std::string::npos)
            << reading.error().message();
    }
}

TEST(Reader, RefusesAnotherVersionOfTheFormatWhateverItsHeaderHolds) {
    for (const char* body : {"@droplog,2,RUN,NOW", "@droplog,2", "@droplog,10,RUN,NOW,MORE"}) {
        const auto reading = check(encode(body) + "\n" + healthy_log(1));
        ASSERT_FALSE(reading);
        EXPECT_EQ(reading.error().where, "test.droplog:1");
        EXPECT_NE(reading.error().what.find("expected 1"), std::string::npos);
    }
}

TEST(Reader, RefusesTwoRunsInOneFile) {
    const std::string log = healthy_log(3);
    const auto reading = check(log + log);
    ASSERT_FALSE(reading);
    EXPECT_EQ(reading.error().where, "test.droplog:19");
    EXPECT_NE(reading.error().what.find("two runs"), std::string::npos);
}

TEST(Reader, LetsAnExceptionOfTheConsumerThrough) {
    class Throwing final : public Consumer {
        void begin(const Header& /*header*/) override { throw BrokenInvariant("as a bug would"); }
        void reboot() override {}
        void take(const Event& /*event*/) override {}
    };
    StringSource source{healthy_log(30'000)}; // more chunks than the queues hold
    Throwing consumer;
    EXPECT_THROW(static_cast<void>(read_log(source, "test.droplog", consumer)), BrokenInvariant);
}

TEST(Reader, LetsAnExceptionOfTheSourceThrough) {
    class Throwing final : public ByteSource {
        [[nodiscard]] Result<std::size_t> read(std::span<char> /*room*/) override {
            throw BrokenInvariant("as a bug would");
        }
    };
    Throwing source;
    EXPECT_THROW(static_cast<void>(check_log(source, "test.droplog")), BrokenInvariant);
}
