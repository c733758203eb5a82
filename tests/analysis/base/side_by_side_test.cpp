#include "analysis/base/side_by_side.hpp"

#include <gtest/gtest.h>

#include <stdexcept>
#include <vector>

using dropledger::side_by_side;

TEST(SideBySide, DoesEachPieceOnce) {
    for (const std::size_t count : {0U, 1U, 2U, 3U, 1000U}) {
        std::vector<int> done(count, 0);
        side_by_side(count, [&](std::size_t i) { ++done[i]; });
        EXPECT_EQ(done, std::vector<int>(count, 1));
    }
}

TEST(SideBySide, ThrowsWhatAPieceThrew) {
    for (const std::size_t bad : {0U, 7U, 99U}) {
        std::atomic<int> ended = 0;
        EXPECT_THROW(side_by_side(100,
                                  [&](std::size_t i) {
                                      if (i == bad)
                                          throw std::runtime_error("bad piece");
                                      ++ended;
                                  }),
                     std::runtime_error);
        EXPECT_LE(ended, 99);
    }
}
