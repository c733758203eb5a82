#include "analysis/ledger/ordered_queue.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>
#include <vector>

using namespace dropledger::ledger;

namespace {

struct Item {
    int key = 0;
    int number = 0;
};
struct ByKey {
    bool operator()(const Item& a, const Item& b) const { return a.key < b.key; }
};

} // namespace

// Against a stable sort of what is in it, while items come and go.
TEST(OrderedQueue, GivesTheLeastFirstAndEqualOnesInTheOrderTheyCame) {
    std::mt19937 random{5};
    for (int round = 0; round < 200; ++round) {
        OrderedQueue<Item, ByKey> queue;
        std::vector<Item> plain;
        const int late = round % 4 == 0 ? 1 : 40;
        for (int i = 0; i < 500; ++i) {
            const Item item{i / 3 - static_cast<int>(random()) % late, i};
            queue.push(item);
            plain.insert(std::upper_bound(plain.begin(), plain.end(), item, ByKey{}), item);
            for (auto n = random() % 3; n > 0 && !queue.empty(); --n) {
                ASSERT_EQ(queue.front().number, plain.front().number);
                queue.pop();
                plain.erase(plain.begin());
            }
            ASSERT_EQ(queue.size(), plain.size());
        }
        for (; !plain.empty(); plain.erase(plain.begin()), queue.pop())
            ASSERT_EQ(queue.front().number, plain.front().number);
        EXPECT_TRUE(queue.empty());
    }
}
