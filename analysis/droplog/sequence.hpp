// Which controller lines count: the next SEQ does, a line seen before does not, and a hole is
// counted.
//
// Assumes: a log may begin in the middle of a boot, so its first SEQ is no gap; a boot in mid-run
// begins at 0.
// Units: time is the unwrapped tick, µs: the boot's first line in the log has the tick it states.
// Undefined when: a repeat comes more than `memory` lines late; it can no longer be compared and
// counts as out of order.
#pragma once

#include "analysis/droplog/line.hpp"

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::droplog {

enum class Place : std::uint8_t { next, after_gap, new_boot, repeated, conflicting, out_of_order };

class Sequence {
public:
    static constexpr std::uint32_t memory = 1U << 16U; // lines that a repeat is compared with

    // `boot` is the BOOT of a hello line, empty for every other line.
    Place place(const Record& record, std::string_view boot);

    [[nodiscard]] std::uint32_t next() const { return next_; }
    [[nodiscard]] std::uint32_t skipped() const {
        return skipped_;
    } // by the last after_gap or new_boot
    [[nodiscard]] const std::string& boot() const { return boot_; }

private:
    [[nodiscard]] bool names_this_boot(const Record& hello) const;
    Place begin_boot(const Record& record, std::string_view boot);
    Place remember(const Record& record, Place place);
    [[nodiscard]] bool has_seen(std::uint32_t seq) const;
    void skip_to(std::uint32_t seq);

    // A line that was seen; it counts only for its own SEQ and boot.
    struct Seen {
        std::uint64_t fingerprint = 0;
        std::uint32_t seq = 0;
        std::uint32_t boot = 0; // 0: none
    };

    bool begun_ = false;
    std::string boot_;
    std::uint32_t boots_ = 0;
    std::uint32_t next_ = 0;
    std::uint32_t skipped_ = 0;
    std::vector<Seen> seen_; // by SEQ modulo `memory`; as many as were needed so far
};

// Unwraps ticks: the tick of each line, compared with the line before.
class Clock64 {
public:
    void restart() { begun_ = false; }
    [[nodiscard]] std::int64_t time_us(std::uint32_t tick_us);

private:
    bool begun_ = false;
    std::uint32_t last_tick_us_ = 0;
    std::int64_t time_us_ = 0;
};

} // namespace dropledger::droplog
