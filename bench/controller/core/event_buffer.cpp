#include "bench/controller/core/event_buffer.hpp"

namespace dropledger {
namespace controller {

namespace {

constexpr uint8_t freed_at_once = 8;

} // namespace

EventBuffer::EventBuffer(uint8_t* room, uint16_t size, uint16_t reserve)
    : room_(room), size_(size), reserve_(reserve) {
}

uint8_t& EventBuffer::byte(uint16_t from_front) const {
    const auto to_end = static_cast<uint16_t>(size_ - front_);
    return from_front < to_end ? room_[front_ + from_front] : room_[from_front - to_end];
}

uint8_t EventBuffer::size_at(uint16_t from_front) const {
    return packed_size(byte(from_front));
}

Event EventBuffer::at(uint16_t from_front) const {
    uint8_t packed[largest_packed];
    const uint8_t size = size_at(from_front);
    for (uint8_t i = 0; i < size; ++i)
        packed[i] = byte(static_cast<uint16_t>(from_front + i));
    return unpack(packed);
}

uint32_t EventBuffer::lines_at(uint16_t from_front) const {
    return is_hole(byte(from_front)) ? at(from_front).number : 1;
}

void EventBuffer::append(const Event& event) {
    uint8_t packed[largest_packed];
    pack(event, packed);
    const uint8_t size = packed_size(packed[0]);
    for (uint8_t i = 0; i < size; ++i)
        byte(static_cast<uint16_t>(used_ + i)) = packed[i];
    used_ = static_cast<uint16_t>(used_ + size);
}

void EventBuffer::lose_one() {
    ++next_seq_;
    ++hole_;
    ++lost_;
}

void EventBuffer::keep(const Event& event) {
    Event hole;
    hole.kind = Kind::hole;
    hole.number = hole_;
    const auto needed = static_cast<uint16_t>(packed_size(first_byte(event)) +
                                              (hole_ > 0 ? packed_size(first_byte(hole)) : 0));
    const auto reserved = must_get_through(event.kind) ? uint16_t{0} : reserve_;
    if (static_cast<uint16_t>(size_ - used_) < static_cast<uint16_t>(needed + reserved))
        return lose_one();
    if (hole_ > 0)
        append(hole);
    hole_ = 0;
    append(event);
    ++next_seq_;
    ++backlog_;
}

void EventBuffer::drop_front() {
    const uint8_t size = size_at(0);
    const bool hole = is_hole(byte(0));
    const uint32_t lines = lines_at(0);
    front_ = static_cast<uint16_t>(front_ + size < size_ ? front_ + size : front_ + size - size_);
    used_ = static_cast<uint16_t>(used_ - size);
    front_seq_ += lines;
    if (sent_ > 0)
        sent_ = static_cast<uint16_t>(sent_ - size);
    else
        send_seq_ = front_seq_;
    if (!hole)
        --backlog_;
}

bool EventBuffer::acknowledge(uint32_t seq) {
    if (seq >= next_seq_)
        return false;
    if (acknowledged_ < seq + 1)
        acknowledged_ = seq + 1;
    free_some();
    return true;
}

bool EventBuffer::free_some() {
    for (uint8_t left = freed_at_once; used_ > 0 && front_seq_ < acknowledged_; --left) {
        if (left == 0)
            return true;
        drop_front();
    }
    return false;
}

Resend EventBuffer::resend(uint32_t seq) {
    if (seq > next_seq_)
        return Resend::unknown;
    if (seq < acknowledged_)
        return Resend::gone;
    uint16_t from = 0;
    uint32_t its_seq = front_seq_;
    for (; from < sent_ && its_seq < seq; from = static_cast<uint16_t>(from + size_at(from)))
        its_seq += lines_at(from);
    if (from < sent_) {
        sent_ = from;
        send_seq_ = its_seq;
    }
    return Resend::again;
}

bool EventBuffer::next_to_send(Event& event, uint32_t& seq) {
    while (sent_ < used_) {
        const bool wanted = !is_hole(byte(sent_)) && send_seq_ >= acknowledged_;
        if (wanted)
            event = at(sent_);
        seq = send_seq_;
        send_seq_ += lines_at(sent_);
        sent_ = static_cast<uint16_t>(sent_ + size_at(sent_));
        if (wanted)
            return true;
    }
    return false;
}

} // namespace controller
} // namespace dropledger
