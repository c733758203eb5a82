#include "bench/controller/core/event_buffer.hpp"

#include <gtest/gtest.h>

#include <cstdint>
#include <deque>
#include <random>
#include <vector>

namespace dropledger::controller {
namespace {

Event pulse(std::uint32_t tick_us, std::uint32_t width_us = 1234) {
    Event event;
    event.kind = Kind::pulse;
    event.channel = 5;
    event.gate = 1;
    event.tick_us = tick_us;
    event.number = width_us;
    return event;
}

Event drop(std::int64_t position_um) {
    Event event;
    event.kind = Kind::drop;
    event.channel = 7;
    event.tick_us = 0xFFFFFFFF;
    event.number = 0xFFFFFFF0;
    event.count = 50;
    event.position_um = position_um;
    return event;
}

bool same(const Event& a, const Event& b) {
    return a.kind == b.kind && a.channel == b.channel && a.gate == b.gate && a.word == b.word &&
           a.tick_us == b.tick_us && a.number == b.number && a.count == b.count &&
           a.position_um == b.position_um;
}

TEST(ControllerEvent, ComesOutOfItsBytesAsItWentIn) {
    Event beat = state_event(Kind::beat, Word::none, 7);
    beat.number = 65535;
    beat.count = 0xFFFFFFFF;
    Event travel = state_event(Kind::travel, Word::none, 8);
    travel.position_um = -1;
    for (const Event& event :
         {pulse(4000000000, 65535), drop(140737488355327), drop(-140737488355327), beat, travel,
          state_event(Kind::hello, Word::none, 1), state_event(Kind::halted, Word::count, 2),
          fault_event(no_channel, Word::estop, 3), fault_event(6, Word::gate_blocked, 4)}) {
        std::uint8_t bytes[largest_packed] = {};
        pack(event, bytes);
        EXPECT_LE(packed_size(bytes[0]), largest_packed);
        EXPECT_TRUE(same(unpack(bytes), event)) << static_cast<int>(event.kind);
    }
}

TEST(ControllerBuffer, SendsEachEventOnceAndAgainWhenAsked) {
    std::uint8_t room[200];
    EventBuffer buffer(room, sizeof room, 20);
    for (std::uint32_t i = 0; i < 5; ++i)
        buffer.keep(pulse(i));
    Event event;
    std::uint32_t seq = 0;
    for (std::uint32_t i = 0; i < 5; ++i) {
        ASSERT_TRUE(buffer.next_to_send(event, seq));
        EXPECT_EQ(seq, i);
        EXPECT_EQ(event.tick_us, i);
    }
    EXPECT_FALSE(buffer.next_to_send(event, seq));
    EXPECT_EQ(buffer.resend(3), Resend::again);
    ASSERT_TRUE(buffer.next_to_send(event, seq));
    EXPECT_EQ(seq, 3U);
    EXPECT_TRUE(buffer.acknowledge(1));
    EXPECT_EQ(buffer.resend(1), Resend::gone);
    EXPECT_EQ(buffer.resend(5), Resend::again);
    EXPECT_EQ(buffer.resend(6), Resend::unknown);
    EXPECT_FALSE(buffer.acknowledge(5));
    EXPECT_EQ(buffer.backlog(), 3);
}

TEST(ControllerBuffer, KeepsRoomForWhatMustGetThroughAndSkipsTheHole) {
    std::uint8_t room[80];
    EventBuffer buffer(room, sizeof room, 30);
    for (std::uint32_t i = 0; i < 20; ++i)
        buffer.keep(pulse(i));
    const std::uint32_t lost = buffer.lost();
    EXPECT_GT(lost, 0U);
    buffer.keep(fault_event(no_channel, Word::estop, 99));
    EXPECT_EQ(buffer.lost(), lost);
    Event event;
    std::uint32_t seq = 0;
    std::uint32_t last_pulse = 0;
    while (buffer.next_to_send(event, seq) && event.kind == Kind::pulse)
        last_pulse = seq;
    EXPECT_EQ(event.kind, Kind::fault);
    EXPECT_EQ(seq, 20U);
    EXPECT_EQ(seq - last_pulse - 1, lost);
}

// Against a list of events that has no bytes and no ring.
struct Reference {
    struct Kept {
        std::uint32_t seq;
        Event event;
    };
    std::deque<Kept> kept;
    std::size_t sent = 0;

    void acknowledge(std::uint32_t seq) {
        while (!kept.empty() && kept.front().seq <= seq) {
            kept.pop_front();
            sent -= sent > 0 ? 1 : 0;
        }
    }
    void resend(std::uint32_t seq) {
        std::size_t from = 0;
        while (from < kept.size() && kept[from].seq < seq)
            ++from;
        sent = std::min(sent, from);
    }
};

TEST(ControllerBuffer, DoesWhatAPlainListDoes) {
    std::mt19937 chance(17);
    const auto below = [&chance](std::uint32_t bound) {
        return static_cast<std::uint32_t>(chance() % bound);
    };
    std::vector<std::uint8_t> room(331);
    EventBuffer buffer(room.data(), 331, 60);
    Reference reference;
    for (std::uint32_t round = 0; round < 60000; ++round) {
        const std::uint32_t what = below(10);
        if (what < 5) {
            const Event event = what == 0   ? fault_event(no_channel, Word::guard, round)
                                : what == 1 ? drop(round)
                                            : pulse(round);
            const std::uint32_t lost = buffer.lost();
            const std::uint32_t seq = buffer.next_seq();
            buffer.keep(event);
            if (buffer.lost() == lost)
                reference.kept.push_back({seq, event});
        } else if (what < 8) {
            Event event;
            std::uint32_t seq = 0;
            const bool had = buffer.next_to_send(event, seq);
            ASSERT_EQ(had, reference.sent < reference.kept.size());
            if (had) {
                ASSERT_EQ(seq, reference.kept[reference.sent].seq);
                ASSERT_TRUE(same(event, reference.kept[reference.sent].event));
                ++reference.sent;
            }
        } else if (!reference.kept.empty()) {
            const std::uint32_t seq = reference.kept.front().seq + below(12);
            if (what == 8 && buffer.acknowledge(seq))
                reference.acknowledge(seq);
            else if (what == 9 && buffer.resend(seq) == Resend::again)
                reference.resend(seq);
        }
        while (buffer.free_some())
            ;
        ASSERT_EQ(buffer.backlog(), reference.kept.size());
    }
    EXPECT_GT(buffer.lost(), 100U);
}

} // namespace
} // namespace dropledger::controller
