#include "analysis/measures/quantity.hpp"

#include <gtest/gtest.h>

#include <set>
#include <string>

using namespace dropledger;
using namespace dropledger::measures;

namespace {

using Q = measures::Quantity;

std::set<std::string> limited_keys(droplog::Mode mode) {
    std::set<std::string> keys;
    for (const Q quantity : limited_quantities(mode))
        keys.emplace(key_of(quantity));
    return keys;
}

} // namespace

// The formulas' own symbols and units, from ISO 7256-1 and 7256-2 as the measures cite them.
TEST(Quantity, KnowsItsNameItsUnitAndItsRange) {
    const QuantityRow& miss = row_of(Q::miss_index);
    EXPECT_EQ(miss.key, "miss_index");
    EXPECT_EQ(miss.words, "miss index M");
    EXPECT_EQ(miss.unit, Unit::percent);
    EXPECT_EQ(miss.range.most, 1.0);
    EXPECT_EQ(miss.good, Sense::at_most);
    const QuantityRow& offset = row_of(Q::offset_mm);
    EXPECT_EQ(offset.unit, Unit::millimetres);
    EXPECT_FALSE(offset.range.least);
    EXPECT_EQ(offset.good, Sense::magnitude_at_most);
    EXPECT_TRUE(offset.modes.has(droplog::Mode::portion));
    EXPECT_FALSE(offset.modes.has(droplog::Mode::line));
    EXPECT_FALSE(row_of(Q::cv).range.most);
}

TEST(Quantity, JudgesOnlyWhatIsGoodOrBadInAModeThatHasIt) {
    EXPECT_EQ(limited_keys(droplog::Mode::single),
              (std::set<std::string>{"miss_index", "multiples_index", "quality_of_feed_index",
                                     "misses", "multiples", "quality_of_feed", "cp3_reference",
                                     "miss_share", "multiple_share", "precision", "offset_mm",
                                     "bias_mm", "sd_mm", "p95_abs_mm", "within_allowance"}));
    EXPECT_EQ(limited_keys(droplog::Mode::portion),
              (std::set<std::string>{"empty_share", "exact_share", "short_share", "over_share",
                                     "spread_mm", "offset_mm", "bias_mm", "sd_mm", "p95_abs_mm",
                                     "within_allowance"}));
    EXPECT_EQ(limited_keys(droplog::Mode::line),
              (std::set<std::string>{"cv", "dispersion_index", "rate_error"}));
    for (const auto mode : {droplog::Mode::single, droplog::Mode::portion, droplog::Mode::line})
        for (const Q quantity : limited_quantities(mode))
            EXPECT_TRUE(row_of(quantity).good) << key_of(quantity);
}

TEST(Quantity, ReadsBackEveryReportedKey) {
    const std::vector<std::string> keys = reported_keys();
    EXPECT_EQ(std::set<std::string>(keys.begin(), keys.end()).size(), keys.size());
    for (const std::string& key : keys) {
        const auto what = reported_as(key);
        ASSERT_TRUE(what) << key;
        EXPECT_EQ(key_of(*what), key);
        EXPECT_FALSE(words_of(*what).empty());
    }
}

TEST(Quantity, SaysThatACorrectedShareStandsPerDrop) {
    const Reported corrected{Q::miss_index, Aspect::corrected};
    EXPECT_EQ(key_of(corrected), "corrected_miss");
    EXPECT_EQ(words_of(corrected), "misses per drop, corrected");
    EXPECT_EQ(key_of(Reported{Q::cv, Aspect::seen}), "seen_cv");
    EXPECT_THROW((void)key_of(Reported{Q::offset_mm, Aspect::seen}), BrokenInvariant);
}

TEST(Quantity, KnowsNoOtherKey) {
    for (const char* key : {"", "mis_index", "corrected_miss_index", "seen_", "corrected_offset_mm",
                            "MISS_INDEX", "miss_index "})
        EXPECT_FALSE(reported_as(key)) << key;
}
