// External check 2a: published counts fed as seeds per segment. Rutherford & Geiger's counts were
// seen in public files; the others are from memory; the statistics were recomputed with python.
#include "analysis/measures/line.hpp"

#include "analysis/base/result.hpp"

#include <gtest/gtest.h>

#include <cmath>

using namespace dropledger;
using namespace dropledger::measures;

namespace {

const Confidence ninety_five{0.95};

struct Published {
    std::vector<int> frequency;
    double mean, index, cv, chi_squared, p_clustered;
};

// One whole segment for each count. A line starts at its first seed, so the first segment may not
// be empty.
LineResult line_with(const std::vector<int>& frequency) {
    LineTally line{100'000};
    std::int64_t segment = 0;
    for (std::size_t count = frequency.size(); count-- > 0;)
        for (int i = 0; i < frequency[count]; ++i, ++segment)
            if (count > 0) {
                line.add(segment * 100'000, 1);
                if (count > 1)
                    line.add(segment * 100'000 + 50'000, static_cast<std::uint32_t>(count - 1));
            }
    line.add(segment * 100'000, 1); // closes the last; its own segment is not whole
    return line.result(10'000, ninety_five);
}

} // namespace

TEST(Line, ReproducesPublishedCounts) {
    for (const Published& data : std::vector<Published>{
             {{57, 203, 383, 525, 532, 408, 273, 139, 45, 27, 10, 4, 0, 1, 1},
              3.871549080,
              0.954705866,
              0.496583644,
              2488.918194,
              0.950671},
             {{109, 65, 22, 3, 1}, 0.61, 1.001565203, 1.281370426, 199.311475, 0.480450},
             {{213, 128, 37, 18, 3, 1}, 0.6825, 1.192275561, 1.321712487, 475.717948, 0.0049084},
             {{0, 20, 43, 53, 86, 70, 54, 37, 18, 10, 5, 2, 2},
              4.68,
              0.954865797,
              0.451698077,
              380.991453,
              0.733573}}) {
        const LineResult found = line_with(data.frequency);
        EXPECT_NEAR(found.dispersion->mean, data.mean, 5e-10);
        EXPECT_NEAR(found.mean_per_m->value, data.mean * 10.0, 5e-9);
        EXPECT_NEAR(found.rate_error->value, data.mean - 1.0, 5e-10);
        EXPECT_NEAR(found.dispersion_index->value, data.index, 5e-10);
        EXPECT_NEAR(found.cv->value, data.cv, 5e-10);
        EXPECT_NEAR(found.dispersion->chi_squared, data.chi_squared,
                    1e-6); // one is cut off, not rounded
        EXPECT_NEAR(found.dispersion->p_clustered, data.p_clustered, 5e-7);
    }
}

TEST(Line, CountsWholeSegmentsOnly) {
    LineTally line{100'000};
    for (const std::int64_t place : {5'000, 104'999, 105'000, 190'000, 204'999})
        line.add(place, 1);
    const LineResult found = line.result(std::nullopt, ninety_five);
    EXPECT_EQ(found.segments, 1);
    EXPECT_EQ(found.seeds, 2); // the segment goes from 5 mm up to, not including, 105 mm
    EXPECT_FALSE(found.rate_error);
    EXPECT_EQ(found.longest_gap_um, 99'999);
}

TEST(Line, CountsEmptySegmentsInAGap) {
    LineTally line{100'000};
    line.add(0, 1);
    line.add(450'000, 1);
    const LineResult found = line.result(std::nullopt, ninety_five);
    EXPECT_EQ(found.segments, 4);
    EXPECT_EQ(found.count_distribution, (std::vector<std::int64_t>{3, 1}));
    EXPECT_EQ(found.longest_gap_um, 450'000);
}

// Segments of nothing were walked one by one, so that a place in error took for ever.
TEST(Line, BeginsAnewBehindAKilometreOfNothing) {
    LineTally line{100'000};
    line.add(0, 1);
    line.add(150'000, 1);
    line.add(900'000'000'000'000'000, 1);
    line.add(900'000'000'000'250'000, 1);
    const LineResult found = line.result(std::nullopt, ninety_five);
    EXPECT_EQ(found.segments, 3);
    EXPECT_EQ(found.total_seeds, 4);
    EXPECT_EQ(found.longest_gap_um, 899'999'999'999'850'000);
}

TEST(Line, TakesNoGapAcrossABoot) {
    LineTally line{100'000};
    line.add(0, 1);
    line.add(150'000, 1);
    line.end_segment();
    line.add(9'000'000, 1);
    line.add(9'100'000, 1);
    const LineResult found = line.result(std::nullopt, ninety_five);
    EXPECT_EQ(found.longest_gap_um, 150'000);
    EXPECT_EQ(found.segments, 2);
}

// 25 November: a mean with an interval from one segment, and limits below 0.
// 26 November: a unit that stopped after three fifths of the way was within, as a shorter line.
TEST(Line, IsNoShorterWhereItsUnitStops) {
    LineTally line{100'000};
    for (std::int64_t place = 0; place <= 3'000'000; place += 10'000)
        line.add(place, 1);
    EXPECT_EQ(line.span_um(), 3'000'000);
    line.end_segment();
    EXPECT_EQ(line.span_um(), 3'000'000);
    EXPECT_EQ(line.result(100'000, ninety_five).segments, 30);
    const LineResult whole = line.with_unsown(2'050'000).result(100'000, ninety_five);
    EXPECT_EQ(whole.segments, 50);
    EXPECT_EQ(whole.seeds, 300);
    EXPECT_NEAR(whole.rate_error->value, -0.4, 1e-12);
}

TEST(Line, HasNoMeanOfOneSegment) {
    LineTally line{100'000};
    for (const std::int64_t place : {0, 30'000, 110'000})
        line.add(place, 1);
    EXPECT_EQ(line.result(10'000, ninety_five).segments, 1);
    EXPECT_FALSE(line.result(10'000, ninety_five).mean_per_m);
    EXPECT_FALSE(line.result(10'000, ninety_five).rate_error);
}

TEST(Line, HasNoLimitBelowNothing) {
    LineTally line{100'000};
    line.add(0, 1);
    line.add(3'950'000, 1); // two seeds in 39 segments and more
    line.add(4'100'000, 1);
    const LineResult found = line.result(10'000, ninety_five);
    ASSERT_TRUE(found.mean_per_m->interval);
    EXPECT_EQ(found.mean_per_m->interval->low, 0.0);
    EXPECT_EQ(found.rate_error->interval->low, -1.0);
}

TEST(Line, KnowsTheMeanToOneSeedAtBest) {
    LineTally line{100'000};
    for (std::int64_t seed = 0; seed <= 1000; ++seed)
        line.add(seed * 10'000, 1);
    const LineResult found = line.result(std::nullopt, ninety_five);
    EXPECT_EQ(found.segments, 100);
    EXPECT_NEAR(found.mean_per_m->interval->low, 99.9, 1e-9);
    EXPECT_NEAR(found.mean_per_m->interval->high, 100.1, 1e-9);
    EXPECT_EQ(found.cv->interval->low, 0.0);
    EXPECT_NEAR(found.cv->interval->high, std::sqrt(0.5) / 10.0, 1e-12);
}

TEST(Line, SaysNothingOfAnEmptyLine) {
    const LineResult found = LineTally{100'000}.result(10'000, ninety_five);
    EXPECT_EQ(found.segments, 0);
    EXPECT_FALSE(found.mean_per_m);
    EXPECT_FALSE(found.cv);
    EXPECT_FALSE(found.dispersion);
    EXPECT_THROW(LineTally{0}, BrokenInvariant);
}
