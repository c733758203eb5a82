// Quantiles against numpy.quantile(…, method="linear"), definition 7, recomputed with numpy 1.24; rest constructed.
#include "analysis/measures/fine_histogram.hpp"
#include "analysis/measures/placement.hpp"

#include "analysis/base/result.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>

using namespace dropledger;
using namespace dropledger::measures;

namespace {
const Confidence ninety_five{0.95};
const std::vector<std::int64_t> sample{-3117, 12, 4550, -20310, 7, 998, 15003, -41, 2200, 2200, -1, 31999};
} // namespace

TEST(FineHistogram, AgreesWithNumpyQuantiles) {
    FineHistogram values;
    for (const std::int64_t value : sample)
        values.add(value);
    EXPECT_NEAR(*values.quantile(0.0), -20310, 1e-9);
    EXPECT_NEAR(*values.quantile(0.05), -10853.85, 1e-9);
    EXPECT_NEAR(*values.quantile(0.25), -11.0, 1e-9);
    EXPECT_NEAR(*values.quantile(0.5), 505.0, 1e-9);
    EXPECT_NEAR(*values.quantile(0.95), 22651.2, 1e-9);
    EXPECT_NEAR(*values.quantile(1.0), 31999, 1e-9);
}

TEST(FineHistogram, IsASortedListInDisguise) {
    std::mt19937 random{3};
    FineHistogram values;
    std::vector<std::int64_t> list;
    for (int i = 0; i < 3000; ++i) {
        const auto value = static_cast<std::int64_t>(random() % 20'001) - 10'000;
        values.add(value);
        list.push_back(value);
    }
    std::sort(list.begin(), list.end());
    for (std::size_t rank : {1U, 2U, 1024U, 1500U, 3000U})
        EXPECT_EQ(values.at_rank(static_cast<std::int64_t>(rank)), list[rank - 1]);
    EXPECT_EQ(values.count_between(-1025, 1023),
              std::upper_bound(list.begin(), list.end(), 1023) - std::lower_bound(list.begin(), list.end(), -1025));
    EXPECT_THROW(static_cast<void>(values.at_rank(3001)), BrokenInvariant);
    EXPECT_FALSE(FineHistogram{}.quantile(0.5));
    EXPECT_FALSE(FineHistogram{}.fullest_band(10));
}

TEST(FineHistogram, KeepsPagesApartAtTheirBorders) {
    FineHistogram values;
    for (const std::int64_t value : {-1025, -1024, -1, 0, 1023, 1024})
        values.add(value);
    std::vector<std::int64_t> seen;
    values.for_each([&](std::int64_t value, std::int64_t times) {
        seen.push_back(value);
        EXPECT_EQ(times, 1);
    });
    EXPECT_EQ(seen, (std::vector<std::int64_t>{-1025, -1024, -1, 0, 1023, 1024}));
}

TEST(Placement, ReportsNothingWhereNothingLanded) {
    const PlacementResult none = PlacementTally{}.result(15'000, 1, ninety_five);
    EXPECT_FALSE(none.offset_mm);
    EXPECT_FALSE(none.bias_mm);
    EXPECT_FALSE(none.sd_mm);
    EXPECT_FALSE(none.p95_abs_mm);
    EXPECT_FALSE(none.within_allowance);
}

TEST(Placement, MirrorsSignsButNotMagnitudesWhereTravelCountsDown) {
    PlacementTally tally;
    for (const std::int64_t error : sample) {
        tally.add_entry(error);
        tally.add_landing(error, 1);
    }
    const PlacementResult on = tally.result(4'550, 1, ninety_five);
    const PlacementResult back = tally.result(4'550, -1, ninety_five);
    EXPECT_EQ(on.offset_mm->value, -back.offset_mm->value);
    EXPECT_EQ(on.bias_mm->value, -back.bias_mm->value);
    EXPECT_EQ(on.bias_mm->interval->low, -back.bias_mm->interval->high);
    EXPECT_EQ(on.sd_mm->value, back.sd_mm->value);
    EXPECT_EQ(on.p95_abs_mm->value, back.p95_abs_mm->value);
    EXPECT_NEAR(on.p95_abs_mm->value, 25.57005, 1e-9);
    EXPECT_NEAR(on.within_allowance->value, 9.0 / 12.0, 1e-12); // exactly on the allowance is inside
}

TEST(Placement, WeighsSeedsInTheOffsetAndEntriesInTheBias) {
    PlacementTally tally;
    tally.add_landing(10'000, 1);
    tally.add_landing(0, 3);
    tally.add_entry(10'000);
    tally.add_entry(0);
    const PlacementResult found = tally.result(std::nullopt, 1, ninety_five);
    EXPECT_EQ(found.offset_mm->value, 0.0);
    EXPECT_EQ(found.bias_mm->value, 5.0);
    EXPECT_FALSE(found.within_allowance);
}

// Constructed: three seeds that fell alone 1 mm late, a double 9 mm.
TEST(Placement, KeepsTheMeanOfSeedsThatFellAloneApart) {
    PlacementTally tally;
    for (int i = 0; i < 3; ++i)
        tally.add_entry(1'000, 1);
    tally.add_entry(9'000, 2);
    const PlacementResult found = tally.result({}, 1, Confidence{0.95});
    EXPECT_DOUBLE_EQ(found.bias_mm->value, 3.0);
    EXPECT_DOUBLE_EQ(found.lone_bias_mm->value, 1.0);
}
