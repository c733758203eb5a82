// Whether a living page is open: the station's half of the dead man's rule.
//
// The station asks all pages twice a second by a numbered beat; a page that lives answers with the
// number. An answer to an old beat does not count: what was held up on the way proves nothing.
// Assumes: times are of one steady clock. Any thread may call.
#pragma once

#include "analysis/base/units.hpp"

#include <cstdint>
#include <mutex>

namespace dropledger::station {

constexpr Microseconds beat_every{500'000};
// Long enough for a page that gives way to the next one on a busy machine.
constexpr Microseconds presence_patience{5'000'000};

class Presence {
public:
    void begin(Microseconds now); // whoever confirmed the start is there
    [[nodiscard]] std::uint64_t next_beat();
    void answered(std::uint64_t beat, Microseconds now);
    [[nodiscard]] bool living(Microseconds now) const;

private:
    mutable std::mutex mutex_;
    std::uint64_t beat_ = 0;
    Microseconds there_at_{0};
};

} // namespace dropledger::station
