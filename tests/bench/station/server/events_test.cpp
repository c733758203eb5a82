#include "bench/station/server/events.hpp"

#include "analysis/base/result.hpp"

#include <gtest/gtest.h>

using namespace dropledger::station;

namespace {

const auto nobody = [] {};

} // namespace

TEST(EventText, KeepsLinesAndLetsNoDataPassForAnotherEvent) {
    EXPECT_EQ(event_text("live", "a\nb"), "event: live\ndata: a\ndata: b\n\n");
    EXPECT_EQ(event_text("live", "x\r\n\nevent: halt"),
              "event: live\ndata: x\ndata: \ndata: event: halt\n\n");
}

TEST(EventHub, CostsOneEventANameForAPageThatSleeps) {
    EventHub hub;
    const auto box = hub.join(nobody);
    for (int i = 0; i < 100'000; ++i)
        hub.publish("live", std::to_string(i));
    hub.publish("bar", "x");
    EXPECT_EQ(box->waiting(), 2U);
    EXPECT_EQ(box->take(), "event: live\ndata: 99999\n\nevent: bar\ndata: x\n\n");
    EXPECT_EQ(box->take(), "");
}

TEST(EventHub, TellsALateComerWhatLasts) {
    EventHub hub;
    hub.publish("bar", "a run is on");
    hub.publish("beat", "7", EventHub::Lasts::no);
    EXPECT_EQ(hub.join(nobody)->take(), "event: bar\ndata: a run is on\n\n");
}

TEST(EventHub, SendsWhatLastsOnlyWhereItIsNew) {
    EventHub hub;
    int woken = 0;
    const auto box = hub.join([&woken] { ++woken; });
    hub.publish("live", "same");
    hub.publish("live", "same");
    hub.publish("beat", "1", EventHub::Lasts::no);
    hub.publish("beat", "1", EventHub::Lasts::no);
    EXPECT_EQ(woken, 3);
}

TEST(EventHub, ForgetsBoxesThatAreLeft) {
    EventHub hub;
    auto box = hub.join(nobody);
    EXPECT_EQ(hub.boxes(), 1U);
    box.reset();
    EXPECT_EQ(hub.boxes(), 0U);
    hub.publish("live", "to nobody");
}

TEST(EventHub, RefusesNamesWithoutEnd) {
    EventHub hub;
    for (std::size_t i = 0; i < most_names; ++i)
        hub.publish("name" + std::to_string(i), "");
    EXPECT_THROW(hub.publish("one too many", ""), dropledger::BrokenInvariant);
}
