#include "bench/recorder/protocol/lines/known_bench.hpp"

#include "analysis/droplog/line.hpp"

#include <gtest/gtest.h>

namespace dropledger::recorder {
namespace {

std::string hello(const std::string& boot, const std::string& firmware) {
    return droplog::encode("hello,0,0,1," + boot + ",8," + firmware);
}

// Both fresh from the maker: nothing but the serial tells the second from the first one reset.
TEST(KnownBench, IsToldFromAFreshOneOfTheSameFirmwareByItsSerial) {
    KnownBench bench;
    bench.keep(hello("1-AA", "maker-1.4%20#B-1"));
    EXPECT_TRUE(bench.has_serial());
    EXPECT_FALSE(bench.difference(hello("2-AA", "maker-1.4%20#B-1"))) << "itself, started anew";
    const auto other = bench.difference(hello("1-AB", "maker-1.4%20#B-2"));
    ASSERT_TRUE(other);
    EXPECT_NE(other->find("#B-2`"), std::string::npos) << *other;
}

TEST(KnownBench, WithoutASerialMayBeAnotherOneThatIsNew) {
    KnownBench bench;
    bench.keep(hello("1-AA", "maker-1.4"));
    EXPECT_FALSE(bench.has_serial());
    EXPECT_FALSE(bench.difference(hello("1-AB", "maker-1.4")));
}

} // namespace
} // namespace dropledger::recorder
