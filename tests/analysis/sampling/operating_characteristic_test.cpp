#include "analysis/sampling/operating_characteristic.hpp"

#include <gtest/gtest.h>

#include <algorithm>

using namespace dropledger::batch;

// NIST e-Handbook 6.2.3.2, n 52, c 3, N 10 000 (columns from memory, recomputed; 0.845 and 0.739
// are remembered at 0.04 and 0.05, exact values round to 0.846 and 0.738).
TEST(OperatingCharacteristic, ReproducesTheHandbookColumns) {
    const double accept[] = {0.998, 0.980, 0.930, 0.846, 0.738, 0.620,
                             0.502, 0.394, 0.300, 0.223, 0.162, 0.115};
    const double outgoing[] = {0.0099, 0.0195, 0.0277, 0.0337, 0.0367, 0.0370,
                               0.0349, 0.0313, 0.0269, 0.0222, 0.0177, 0.0138};
    for (int percent = 1; percent <= 12; ++percent) {
        const auto point = quality_point({52, 4}, percent / 100.0, 10'000);
        EXPECT_NEAR(point.accept_probability, accept[percent - 1], 0.5e-3) << percent;
        EXPECT_NEAR(*point.outgoing_quality, outgoing[percent - 1], 0.5e-4) << percent;
    }
}

// Recomputed, binomial: p in percent at 95, 50 and 10 %.
TEST(OperatingCharacteristic, FindsTheShareOfAnAcceptance) {
    struct Row {
        SampleNumbers plan;
        double at_95, at_50, at_10;
    };
    for (const Row& row : {Row{{125, 4}, 1.100, 2.930, 5.266}, Row{{80, 3}, 1.030, 3.329, 6.516},
                           Row{{50, 2}, 0.715, 3.334, 7.558}, Row{{20, 1}, 0.256, 3.406, 10.875},
                           Row{{13, 1}, 0.394, 5.192, 16.232}}) {
        EXPECT_NEAR(100.0 * share_accepted_with(row.plan, 0.95), row.at_95, 0.5e-3);
        EXPECT_NEAR(100.0 * share_accepted_with(row.plan, 0.50), row.at_50, 0.5e-3);
        EXPECT_NEAR(100.0 * share_accepted_with(row.plan, 0.10), row.at_10, 0.5e-3);
    }
}

// A lot of 10 with 2 nonconforming, sample 3, accept 0: 8·7·6/(10·9·8) (by hand).
TEST(OperatingCharacteristic, CountsALotWithoutReplacement) {
    const auto point = quality_point_of_lot({3, 1}, 10, 2);
    EXPECT_NEAR(point.accept_probability, 336.0 / 720.0, 1e-12);
    EXPECT_NEAR(*point.total_inspection, 3.0 + (1.0 - 336.0 / 720.0) * 7.0, 1e-12);
    EXPECT_EQ(quality_point_of_lot({10, 1}, 10, 1).accept_probability, 0.0);
    EXPECT_EQ(quality_point({52, 4}, 0.0, std::nullopt).accept_probability, 1.0);
    EXPECT_FALSE(quality_point({52, 4}, 0.0, std::nullopt).outgoing_quality);
}

TEST(OperatingCharacteristic, FindsTheWorstCountOfALot) {
    for (const SampleNumbers plan :
         {SampleNumbers{52, 4}, SampleNumbers{5, 3}, SampleNumbers{80, 3}}) {
        constexpr std::int64_t lot = 280;
        double worst = 0.0;
        for (std::int64_t count = 0; count <= lot; ++count)
            worst = std::max(worst, *quality_point_of_lot(plan, lot, count).outgoing_quality);
        EXPECT_EQ(outgoing_quality_limit_of_lot(plan, lot).aoql, worst);
    }
    EXPECT_EQ(outgoing_quality_limit_of_lot({10, 1}, 10).aoql, 0.0);
}
