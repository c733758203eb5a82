#include "bench/station/mechanic/presence.hpp"

namespace dropledger::station {

namespace {

constexpr std::uint64_t fresh_beats = presence_patience / beat_every;

} // namespace

void Presence::begin(Microseconds now) {
    const std::lock_guard lock(mutex_);
    there_at_ = now;
}

std::uint64_t Presence::next_beat() {
    const std::lock_guard lock(mutex_);
    return ++beat_;
}

void Presence::answered(std::uint64_t beat, Microseconds now) {
    const std::lock_guard lock(mutex_);
    if (beat <= beat_ && beat + fresh_beats > beat_)
        there_at_ = now;
}

bool Presence::living(Microseconds now) const {
    const std::lock_guard lock(mutex_);
    return now - there_at_ < presence_patience;
}

} // namespace dropledger::station
