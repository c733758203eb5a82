#include "analysis/measures/fine_histogram.hpp"

#include <gtest/gtest.h>

#include <map>
#include <random>

using namespace dropledger::measures;

namespace {

std::map<std::int64_t, std::int64_t> all_of(const FineHistogram& histogram) {
    std::map<std::int64_t, std::int64_t> all;
    histogram.for_each([&](std::int64_t value, std::int64_t times) { all[value] = times; });
    return all;
}

} // namespace

// Values are entered block by block; whoever asks in between must not notice.
TEST(FineHistogram, HoldsEveryValueWhereverABlockOfThemEnds) {
    std::mt19937 random{7};
    for (int round = 0; round < 20; ++round) {
        FineHistogram histogram;
        std::map<std::int64_t, std::int64_t> plain;
        std::int64_t count = 0;
        for (int i = 0; i < 700; ++i) {
            const std::int64_t wide = round % 2 == 0 ? 50 : 3'000'000; // µm, on either side of 0
            const auto value =
                static_cast<std::int64_t>(random() % static_cast<unsigned>(2 * wide)) - wide;
            const std::uint32_t times = random() % 8 == 0 ? 3 : 1;
            histogram.add(value, times);
            plain[value] += times;
            count += times;
            if (random() % 97 == 0) {
                ASSERT_EQ(all_of(histogram), plain);
            }
        }
        ASSERT_EQ(histogram.count(), count);
        ASSERT_EQ(histogram.at_rank(1), plain.begin()->first);
        ASSERT_EQ(histogram.at_rank(count), plain.rbegin()->first);
        ASSERT_EQ(histogram.count_between(-10, 10), [&] {
            std::int64_t inside = 0;
            for (const auto& [value, times] : plain)
                inside += value >= -10 && value <= 10 ? times : 0;
            return inside;
        }());
        ASSERT_EQ(all_of(histogram), plain);
    }
}
