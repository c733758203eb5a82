#include "analysis/droplog/writer.hpp"

#include "analysis/base/result.hpp"
#include "analysis/base/text.hpp"
#include "tests/analysis/droplog/logs.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::droplog;

namespace {

PrivateKey test_key() {
    PrivateKey key{};
    key.fill(7);
    return key;
}

std::string body_of(std::string_view line_with_lf) {
    return std::string{checked_body(line_with_lf.substr(0, line_with_lf.size() - 1)).value()};
}

} // namespace

TEST(Writer, WritesWhatReadsBackComplete) {
    const auto reading = check(healthy_log(10));
    ASSERT_TRUE(reading);
    EXPECT_TRUE(is_clean(*reading));
    EXPECT_FALSE(reading->integrity.is_signed);
    EXPECT_EQ(reading->integrity.close_reason, "count");
    EXPECT_EQ(reading->header.run_id, "2b7e1516-28ae-4d2a-abf7-158809cf4f3c");
    EXPECT_EQ(reading->header.number("spacing_um"), 180'000);
    EXPECT_EQ(*reading->header.find(0, "unit"), "U-1");
}

TEST(Writer, SignsTheLastSealWhereItHasAKey) {
    const auto reading = check(healthy_log(10, test_key()));
    ASSERT_TRUE(reading);
    EXPECT_TRUE(is_clean(*reading));
    EXPECT_TRUE(reading->integrity.is_signed);
    EXPECT_EQ(reading->integrity.public_key, to_hex(public_key_of(test_key())));
}

TEST(Writer, SealsEveryThousandLinesAndBeforeTheClose) {
    const auto lines = lines_of(healthy_log(1500)); // 6 of the host's, 4 + 3000 of the controller's
    std::vector<std::size_t> sealed_at;
    for (std::size_t i = 0; i < lines.size(); ++i)
        if (lines[i].starts_with("@seal,"))
            sealed_at.push_back(i);
    EXPECT_EQ(sealed_at, (std::vector<std::size_t>{1000, 2001, 3002, 3013}));
    EXPECT_TRUE(lines[1000].starts_with("@seal,1000,"));
    EXPECT_TRUE(lines[3012].starts_with("@ending,count*"));
    EXPECT_TRUE(lines[3013].starts_with("@seal,10,"));
    EXPECT_TRUE(lines.back().starts_with("@close,count,,*"));
}

// The line that is sealed by itself, as the thousandth, may be @ending.
TEST(Writer, PutsTheReasonRightUnderTheLastSealWhereverTheThousandLinesEnd) {
    for (int notes = 994; notes <= 1000; ++notes) {
        const std::string log = written([&](Writer& writer) {
            begin_run(writer);
            for (int i = 0; i < notes; ++i)
                writer.note("x");
            writer.close("host", {});
        });
        const auto lines = lines_of(log);
        EXPECT_TRUE(lines[lines.size() - 3].starts_with("@ending,host*")) << notes;
        EXPECT_TRUE(lines[lines.size() - 2].starts_with("@seal,")) << notes;
        EXPECT_TRUE(check(log)->integrity.reason_covered) << notes;
    }
}

TEST(Writer, WritesNoSealOverNothing) {
    const std::string log = written([](Writer& writer) {
        writer.note("x");
        writer.seal();
        writer.seal();
        EXPECT_EQ(writer.unsealed(), 0U);
    });
    EXPECT_EQ(lines_of(log).size(), 2U);
}

TEST(Writer, GoesOnInAChain) {
    std::string log;
    const auto sink = [&](std::string_view line) { log += line; };
    SealChain chain;
    Writer first{sink};
    begin_run(first);
    first.seal();
    first.note("not sealed yet");
    for (const std::string& line : lines_of(log))
        line.starts_with("@seal") ? static_cast<void>(chain.seal()) : chain.add(line);
    Writer second{sink, std::move(chain)};
    EXPECT_EQ(second.unsealed(), 1U);
    second.resumed(1'767'225'600'000'000);
    second.close("host", {});
    const auto reading = check(log);
    ASSERT_TRUE(reading);
    EXPECT_TRUE(is_clean(*reading));
    EXPECT_EQ(reading->integrity.resumed, 1U);
}

TEST(Writer, PassesControllerLinesOnVerbatimButForACr) {
    const std::string line = travel_line({1, 2}, 3);
    EXPECT_EQ(written([&](Writer& writer) { writer.controller(line); }), line + "\n");
    EXPECT_EQ(written([&](Writer& writer) { writer.controller(line + "\r"); }), line + "\n");
    Writer writer{[](std::string_view) { FAIL() << "wrote a line that is not legal"; }};
    EXPECT_THROW(writer.controller("travel,1,2,3*0000"), BrokenInvariant);
    EXPECT_THROW(writer.controller(line + "\n"), BrokenInvariant);
}

TEST(Writer, EncodesTextFields) {
    const std::string log = written([](Writer& writer) {
        writer.set("operator", "M\xc3\xbcller, 2*");
        writer.sent("go*1234");
        writer.at(7, 1'767'225'600'000'000);
    });
    const auto lines = lines_of(log);
    EXPECT_EQ(body_of(lines[0]), "@set,operator,M%C3%BCller%2C 2%2A");
    EXPECT_EQ(body_of(lines[1]), "@sent,go%2A1234");
    EXPECT_EQ(body_of(lines[2]), "@at,7,1767225600000000");
}

TEST(Writer, CutsWhatDoesNotFitNeverInsideAnEscape) {
    for (std::size_t plain = 0; plain < 6; ++plain) {
        const std::string text = std::string(plain, 'x') + std::string(300, '\xff');
        const std::string log = written([&](Writer& writer) {
            writer.note(text);
            writer.damaged(text);
            writer.close(text, test_key());
        });
        for (const std::string& line : lines_of(log)) {
            ASSERT_LE(line.size(), longest_line);
            const std::string body = body_of(line);
            const auto kept = percent_decode(split(body, ',')[1]);
            ASSERT_TRUE(kept) << line;
            if (!line.starts_with("@seal")) {
                EXPECT_TRUE(text.starts_with(*kept)) << line;
                EXPECT_GT(kept->size(), 9U) << line;
            }
        }
    }
}

TEST(Writer, TakesTheLongestSettingThatFitsALine) {
    const std::string longest(longest_line - 20 - 5, 'v');
    const std::string log = written([&](Writer& writer) {
        writer.set("notes", longest);
        writer.channel_set(255, "notes", longest);
    });
    EXPECT_EQ(lines_of(log)[1].size(), longest_line);
}
