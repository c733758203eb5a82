#include "bench/virtual/line_buffer.hpp"

#include <algorithm>
#include <utility>

namespace dropledger::bench_virtual {

namespace {

constexpr std::size_t reserve = 32; // places for what must get through

} // namespace

void LineBuffer::keep(std::string line, Weight weight) {
    const std::uint32_t seq = next_seq_++;
    const std::size_t room = capacity_ + (weight == Weight::must_get_through ? reserve : 0);
    if (held_.size() >= room)
        ++lost_;
    else
        held_.push_back({seq, std::move(line)});
}

bool LineBuffer::acknowledge(std::uint32_t seq) {
    if (seq >= next_seq_)
        return false;
    acknowledged_ = std::max(acknowledged_, seq + 1);
    while (!held_.empty() && held_.front().seq <= seq) {
        held_.pop_front();
        sent_ -= sent_ > 0 ? 1 : 0;
    }
    return true;
}

Resend LineBuffer::resend(std::uint32_t seq) {
    if (seq > next_seq_)
        return Resend::unknown;
    if (seq < acknowledged_)
        return Resend::gone;
    const auto from = std::find_if(held_.begin(), held_.end(),
                                   [seq](const Held& held) { return held.seq >= seq; });
    sent_ = std::min(sent_, static_cast<std::size_t>(from - held_.begin()));
    return Resend::again;
}

} // namespace dropledger::bench_virtual
