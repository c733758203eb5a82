// Published counts: external checks 13d. Saxony families (Geissler; Sokal & Rohlf): counts seen in
// a public copy, estimates seen there and recomputed. Weil 1970, control litters: data seen, values
// recomputed.
#include "analysis/batch/runs/units.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using batch::compare_units;
using statistics::Group;

namespace {

std::vector<Group> saxony() {
    const std::vector<int> families{3, 24, 104, 286, 670, 1033, 1343, 1112, 829, 478, 181, 45, 7};
    std::vector<Group> units;
    for (std::size_t boys = 0; boys < families.size(); ++boys)
        units.insert(units.end(), static_cast<std::size_t>(families[boys]),
                     Group{static_cast<std::int64_t>(boys), 12});
    return units;
}

} // namespace

TEST(Units, ReproduceTheSaxonyFamilies) {
    const auto units = saxony();
    const auto result = compare_units(units, Share{0.6}, Confidence{0.95});
    ASSERT_TRUE(result.fit && result.fit->alpha && result.tarone && result.pooled);
    EXPECT_NEAR(*result.fit->alpha, 34.102876, 5e-4);
    EXPECT_NEAR(*result.fit->beta, 31.578252, 5e-4);
    EXPECT_NEAR(result.fit->log_likelihood, -12492.871359, 5e-6);
    EXPECT_NEAR(result.tarone->z, 9.518338, 5e-7);
    EXPECT_NEAR(result.pooled->value, 0.519215045, 5e-10);
}

TEST(Units, WidenThePooledIntervalWhereUnitsDiffer) {
    const std::vector<Group> unlike{{2, 500}, {60, 500}, {5, 500}, {40, 500}, {1, 500}, {25, 500}};
    const std::vector<Group> alike{{22, 500}, {23, 500}, {22, 500},
                                   {22, 500}, {22, 500}, {22, 500}};
    const auto wide = compare_units(unlike, Share{0.05}, Confidence{0.95});
    const auto narrow = compare_units(alike, Share{0.05}, Confidence{0.95});
    EXPECT_GT(wide.pooled->interval->high - wide.pooled->interval->low,
              2.0 * (narrow.pooled->interval->high - narrow.pooled->interval->low));
    EXPECT_FALSE(narrow.fit->alpha);
}

TEST(Units, SayNothingOfOneUnit) {
    const std::vector<Group> one{{3, 100}};
    const auto result = compare_units(one, Share{0.05}, Confidence{0.95});
    EXPECT_FALSE(result.fit);
    EXPECT_FALSE(result.tarone);
    EXPECT_FALSE(result.share_outside);
    EXPECT_TRUE(result.pooled);
}
