#include "analysis/droplog/sequence.hpp"

#include <algorithm>

namespace dropledger::droplog {

namespace {

// Two lines of one SEQ with the same fingerprint are taken for the same bytes.
std::uint64_t fingerprint(const Record& record) {
    constexpr std::uint64_t mixer = 0x9E3779B97F4A7C15ULL;
    std::uint64_t mix = record.check | (std::uint64_t{record.tick_us} << 32U);
    mix = (mix ^ static_cast<std::uint64_t>(record.position_um)) * mixer;
    mix = (mix ^ record.index ^ (std::uint64_t{record.count} << 32U)) * mixer;
    mix = (mix ^ record.width_us ^ (std::uint64_t{record.depth_milli} << 32U) ^
           (std::uint64_t{record.gate} << 48U)) *
          mixer;
    mix ^= static_cast<std::uint64_t>(record.name) ^
           (static_cast<std::uint64_t>(static_cast<std::uint16_t>(record.channel)) << 8U);
    return mix;
}

} // namespace

Place Sequence::place(const Record& record, std::string_view boot) {
    if (!begun_ || (!boot.empty() && boot != boot_ && !names_this_boot(record)))
        return begin_boot(record, boot);
    if (!boot.empty())
        boot_ = boot;
    const auto ahead = static_cast<std::int32_t>(record.seq - next_);
    if (ahead == 0)
        return remember(record, Place::next);
    if (ahead > 0) {
        skip_to(record.seq);
        return remember(record, Place::after_gap);
    }
    if (next_ - record.seq > memory || !has_seen(record.seq))
        return Place::out_of_order;
    const bool same = seen_[record.seq % memory].fingerprint == fingerprint(record);
    return same ? Place::repeated : Place::conflicting;
}

bool Sequence::has_seen(std::uint32_t seq) const {
    const std::size_t slot = seq % memory;
    return slot < seen_.size() && seen_[slot].seq == seq && seen_[slot].boot == boots_;
}

// Lines before the first hello of a log belong to the boot that the hello then names.
bool Sequence::names_this_boot(const Record& hello) const {
    return boot_.empty() && static_cast<std::int32_t>(hello.seq - next_) >= 0;
}

Place Sequence::begin_boot(const Record& record, std::string_view boot) {
    const bool in_mid_run = begun_;
    begun_ = true;
    boot_ = boot;
    ++boots_;
    next_ = in_mid_run ? 0 : record.seq;
    skip_to(record.seq);
    return remember(record, Place::new_boot);
}

void Sequence::skip_to(std::uint32_t seq) {
    skipped_ = seq - next_;
    next_ = seq;
}

Place Sequence::remember(const Record& record, Place place) {
    if (place == Place::next)
        skipped_ = 0;
    const std::size_t slot = record.seq % memory;
    if (slot >= seen_.size())
        seen_.resize(std::min<std::size_t>(memory, 2 * slot + 1024));
    seen_[slot] = {fingerprint(record), record.seq, boots_};
    next_ = record.seq + 1;
    return place;
}

std::int64_t Clock64::time_us(std::uint32_t tick_us) {
    if (!begun_) {
        begun_ = true;
        time_us_ = tick_us;
    } else {
        time_us_ += static_cast<std::int32_t>(tick_us - last_tick_us_);
    }
    last_tick_us_ = tick_us;
    return time_us_;
}

} // namespace dropledger::droplog
