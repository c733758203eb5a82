#include "analysis/report/words/change_words.hpp"

#include "analysis/report/html/change_section.hpp"
#include "analysis/report/text/change_text.hpp"

#include <gtest/gtest.h>

namespace dropledger::report {

namespace {

statistics::Estimate estimate(double value, double low, double high) {
    return {value, statistics::Interval{low, high}, Confidence{0.95}, "by hand"};
}

audit::ComparedQuantity quantity(measures::Quantity which, const statistics::Estimate& before,
                                 const statistics::Estimate& after,
                                 const statistics::Interval& difference) {
    return {
        .what = {which}, .before = before, .after = after, .difference = difference, .why_not = ""};
}

audit::ComparedUnit unit_with(audit::ComparedQuantity one) {
    return {.unit = "<U-1>", .row = 4, .quantities = {std::move(one)}};
}

TEST(ChangeWords, CallADifferenceByItsIntervalAndNothingElse) {
    const auto misses = quantity(measures::Quantity::miss_share, estimate(0.095, 0.073, 0.123),
                                 estimate(0.017, 0.008, 0.03), {-0.125, -0.036});
    EXPECT_EQ(change_headline(unit_with(misses)), "misses per drop lower by 3.6 to 12.5 points");
    const auto none = quantity(measures::Quantity::miss_share, estimate(0.03, 0.02, 0.04),
                               estimate(0.01, 0.005, 0.02), {-0.045, 0.001});
    EXPECT_EQ(change_headline(unit_with(none)), "no difference that these runs can show");
}

TEST(ChangeWords, NeverRoundTheEndOfADifferenceToNothing) {
    const auto hair = quantity(measures::Quantity::miss_share, estimate(0.095, 0.073, 0.123),
                               estimate(0.05, 0.03, 0.07), {-0.09, -0.0004});
    EXPECT_EQ(change_headline(unit_with(hair)), "misses per drop lower by 0.04 to 9.00 points");
}

TEST(ChangeWords, SayOnWhichSideInTheDirectionOfTravel) {
    auto moved = unit_with(quantity(measures::Quantity::bias_mm, estimate(0.1, -0.1, 0.3),
                                    estimate(6.1, 5.9, 6.3), {5.2, 6.8}));
    EXPECT_EQ(change_headline(moved), "offset (mean) later by 5.20 to 6.80 mm");
    moved.direction = -1;
    EXPECT_EQ(change_headline(moved), "offset (mean) earlier by 5.20 to 6.80 mm");
}

TEST(ChangeWords, SayWhyNothingIsCompared) {
    audit::ComparedQuantity one{.what = {measures::Quantity::sd_mm},
                                .before = std::nullopt,
                                .after = estimate(2.0, 1.8, 2.2),
                                .difference = std::nullopt,
                                .why_not = "not defined before"};
    const auto rows = change_rows(unit_with(one));
    EXPECT_EQ(rows.front().words, "not defined before");
    EXPECT_EQ(rows.front().difference, "");
    EXPECT_EQ(change_headline(unit_with(one)), "nothing of it can be compared");
}

TEST(ChangeWords, ShowNamesAsWords) {
    audit::BeforeAfter found;
    found.units.push_back(
        unit_with(quantity(measures::Quantity::miss_share, estimate(0.03, 0.02, 0.04),
                           estimate(0.01, 0.005, 0.02), {-0.045, 0.001})));
    found.before.file = "<b>.droplog";
    const std::string page = html::change_section(found);
    EXPECT_EQ(page.find("<U-1>"), std::string::npos);
    EXPECT_EQ(page.find("<b>."), std::string::npos);
    EXPECT_NE(page.find("&lt;U-1&gt;, row 4"), std::string::npos);
    EXPECT_NE(to_text(found).find("<U-1>, row 4"), std::string::npos);
}

} // namespace

} // namespace dropledger::report
