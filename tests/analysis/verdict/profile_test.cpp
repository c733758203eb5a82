#include "analysis/verdict/profile.hpp"

#include "calibration_profiles.hpp"

#include <gtest/gtest.h>

#include <string>
#include <vector>

using namespace dropledger;
using namespace dropledger::verdict;

namespace {

const std::string whole = R"(name = "x"
title = "Test"
mode = "single"
confidence = 0.9
least_drops = 300
allowance_mm = 12.5
[limits]
miss_index = 0.05
multiples_index = 0.04
offset_mm = 10
[sequential]
good_miss = 0.01
bad_miss = 0.05
most_drops = 2000
)";

std::string with(const std::string& from, const std::string& to) {
    std::string text = whole;
    const std::size_t at = text.find(from);
    EXPECT_NE(at, std::string::npos) << from;
    return text.replace(at, from.size(), to);
}

struct Wrong {
    std::string from, to;
    std::string where; // file:line
    std::string key;
};

} // namespace

TEST(Profile, ReadsEveryKey) {
    const auto profile = parse_profile(whole, "x.toml");
    ASSERT_TRUE(profile) << profile.error().what;
    EXPECT_EQ(profile->name, "x");
    EXPECT_EQ(profile->title, "Test");
    EXPECT_EQ(profile->mode, ledger::Mode::single);
    EXPECT_EQ(profile->confidence.level(), 0.9);
    EXPECT_EQ(profile->least_drops, 300);
    EXPECT_EQ(profile->least_events, 3);
    EXPECT_EQ(
        parse_profile(with("least_drops = 300", "least_drops = 300\nleast_events = 5"), "x.toml")
            ->least_events,
        5);
    EXPECT_FALSE(
        parse_profile(with("least_drops = 300", "least_drops = 300\nleast_events = 0"), "x.toml"));
    EXPECT_EQ(profile->allowance_um, 12'500);
    EXPECT_EQ(profile->segment_um, 100'000);
    ASSERT_EQ(profile->limits.size(), 3U);
    ASSERT_TRUE(profile->sequential);
    EXPECT_EQ(profile->sequential->miss->bad, 0.05);
    EXPECT_FALSE(profile->sequential->multiples);
    EXPECT_EQ(profile->sequential->most_drops, 2000);
}

TEST(Profile, RefusesWhatIsWrongByFileLineAndKey) {
    for (const Wrong& wrong : std::vector<Wrong>{
             {"name = \"x\"\n", "", "x.toml:", "name"},
             {"mode = \"single\"", "mode = \"sprinkle\"", "x.toml:", "mode"},
             {"confidence = 0.9", "confidence = 95", "x.toml:4", "confidence"},
             {"confidence = 0.9", "confidence = \"high\"", "x.toml:4", "confidence"},
             {"least_drops = 300\n", "", "x.toml:", "least_drops"},
             {"least_drops = 300", "least_drops = 0", "x.toml:5", "least_drops"},
             {"allowance_mm = 12.5", "allowance_mm = -1", "x.toml:6", "allowance_mm"},
             {"allowance_mm", "allowence_mm", "x.toml:6", "allowence_mm"},
             {"miss_index = 0.05\n", "", "x.toml:", "miss_index"},
             {"miss_index = 0.05", "miss_index = 5", "x.toml:8", "miss_index"},
             {"miss_index = 0.05", "miss_index = nan", "x.toml:8", "miss_index"},
             {"offset_mm = 10", "ofset_mm = 10", "x.toml:10", "ofset_mm"},
             {"offset_mm = 10", "cv = 0.3", "x.toml:10", "cv"},
             {"offset_mm = 10", "offset_mm = \"ten\"", "x.toml:10", "offset_mm"},
             {"bad_miss = 0.05\n", "", "x.toml:", "bad_miss"},
             {"bad_miss = 0.05", "bad_miss = 0.001", "x.toml:", "bad_miss"},
             {"most_drops = 2000\n", "", "x.toml:", "most_drops"},
             {"most_drops", "most_dropz", "x.toml:14", "most_dropz"},
             {"least_drops = 300", "least_drops = = 300", "x.toml:5", ""},
         }) {
        const auto profile = parse_profile(with(wrong.from, wrong.to), "x.toml");
        ASSERT_FALSE(profile) << wrong.to;
        EXPECT_EQ(profile.error().where.rfind(wrong.where, 0), 0U)
            << wrong.to << ": " << profile.error().where;
        EXPECT_NE(profile.error().what.find(wrong.key), std::string::npos)
            << wrong.to << ": " << profile.error().what;
        EXPECT_FALSE(profile.error().remedy.empty()) << wrong.to;
        EXPECT_EQ(profile.error().where.find(":0"), std::string::npos) << wrong.to;
    }
}

TEST(Profile, NamesTheLimitThatWasMeant) {
    const auto remedy = [](const std::string& to) {
        return parse_profile(with("offset_mm = 10", to), "x.toml").error().remedy;
    };
    EXPECT_EQ(remedy("ofset_mm = 10"), "did you mean offset_mm?");
    EXPECT_EQ(remedy("mis_index = 0.1"), "did you mean miss_index?");
    EXPECT_EQ(remedy("p95_abs_m = 10"), "did you mean p95_abs_mm?");
    EXPECT_EQ(remedy("mis_share = 0.1"), "did you mean miss_share?");
    EXPECT_EQ(remedy("longest_gap_mm = 10"), "correct its spelling or remove it");
    EXPECT_EQ(remedy("seeds = 10"), "correct its spelling or remove it");
}

TEST(Profile, RefusesALimitOnWhatNoVerdictRestsOn) {
    const auto mean = parse_profile(with("offset_mm = 10", "mean_mm = 10"), "x.toml");
    ASSERT_FALSE(mean);
    EXPECT_EQ(mean.error().where, "x.toml:10");
    EXPECT_NE(mean.error().what.find("no verdict rests on mean spacing"), std::string::npos);
    const auto foreign = parse_profile(with("offset_mm = 10", "empty_share = 0.1"), "x.toml");
    ASSERT_FALSE(foreign);
    EXPECT_NE(foreign.error().what.find("says nothing in mode single"), std::string::npos);
}

// Whatever is good or bad and has an interval can be limited.
TEST(Profile, TakesALimitOnAnyQuantityThatAVerdictCanRestOn) {
    for (const char* key : {"miss_share", "multiple_share", "misses", "multiples",
                            "quality_of_feed", "cp3_reference", "bias_mm", "sd_mm"}) {
        const auto profile =
            parse_profile(with("offset_mm = 10", std::string{key} + " = 0.1"), "x.toml");
        ASSERT_TRUE(profile) << key;
        EXPECT_EQ(profile->limit_of(*measures::quantity_of(key)), 0.1);
    }
}

TEST(Profile, RefusesATableThatIsNone) {
    EXPECT_FALSE(
        parse_profile("name = \"x\"\nmode = \"single\"\nleast_drops = 1\nlimits = 3\n", "x.toml"));
    EXPECT_FALSE(parse_profile("", "x.toml"));
}

TEST(Profile, RefusesHalfADrop) {
    EXPECT_FALSE(parse_profile(with("least_drops = 300", "least_drops = 250.5"), "x.toml"));
    EXPECT_FALSE(parse_profile(with("most_drops = 2000", "most_drops = 99.5"), "x.toml"));
}

TEST(Profile, ComesWithTheProgramWhole) {
    ASSERT_GE(profiles::texts().size(), 7U);
    for (const auto& text : profiles::texts()) {
        const auto profile = parse_profile(text.content, std::string{text.name});
        ASSERT_TRUE(profile) << text.name << ": " << profile.error().where << ' '
                             << profile.error().what;
        EXPECT_EQ(profile->name, text.name);
        EXPECT_FALSE(profile->title.empty());
        EXPECT_GE(profile->limits.size(), 2U);
    }
}

TEST(Profile, SaysNothingWhereNobodyNamedOne) {
    EXPECT_TRUE(no_profile(ledger::Mode::line).limits.empty());
    EXPECT_EQ(no_profile(ledger::Mode::line).mode, ledger::Mode::line);
}
