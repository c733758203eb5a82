// What stands without interval says why.
#include "analysis/audit/places.hpp"

#include "analysis/audit/audit.hpp"

#include "tests/analysis/audit/sample.hpp"

#include "analysis/base/readers/byte_source.hpp"
#include "analysis/base/readers/open_string.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

using namespace dropledger;
using namespace dropledger::audit;
using statistics::NoInterval;

namespace {

std::string without(std::string log, const std::string& beginning) {
    const std::size_t at = log.find(beginning);
    return log.erase(at, log.find('\n', at) + 1 - at);
}

ChannelReport audited(const std::string& log) {
    AuditOptions options;
    options.file = "made.droplog";
    return audit_log(open_string(log), options).value().channels.front();
}

} // namespace

TEST(Places, HaveNoIntervalWhereNobodySaysHowLongSeedsFall) {
    const ChannelReport channel =
        audited(without(sample::log_of({.drops = 300}), "@channel,0,gate1_fall_us"));
    for (const auto* estimate : {&channel.placement()->offset_mm, &channel.placement()->bias_mm,
                                 &channel.placement()->p95_abs_mm}) {
        EXPECT_FALSE((*estimate)->interval);
        EXPECT_EQ((*estimate)->no_interval, NoInterval::fall_unknown);
    }
    EXPECT_TRUE(channel.placement()->sd_mm->interval); // the fall shifts all places alike
}

// A flight time's uncertainty reaches as far as travel goes meanwhile: not known without a speed.
TEST(Places, SayThatTheSpeedIsMissing) {
    measures::PlacementResult placement;
    placement.offset_mm =
        statistics::Estimate{.value = 3.0, .interval = statistics::Interval{2, 4}};
    measures::PlacementResult known = placement;
    widen_for_flight(1000.0, 500'000.0, known); // 0.5 mm, one standard uncertainty
    EXPECT_NEAR(known.offset_mm->interval->high, 3.0 + std::hypot(1.0, 1.96 * 0.5), 1e-3);
    widen_for_flight(1000.0, std::nullopt, placement);
    EXPECT_FALSE(placement.offset_mm->interval);
    EXPECT_EQ(placement.offset_mm->no_interval, NoInterval::speed_unknown);
}
