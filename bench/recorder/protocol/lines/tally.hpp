// The live count per channel while a run goes on: provisional, from drops and pulses as they come.
// The audit gives the verdict.
//
// Assumes: one pulse is one seed; a pulse belongs to the latest valve opening before it (gate below
// the valve) or to the next one (gate above). The reference gate (1) is judged by where it has been
// heard.
// Undefined when: line mode has no commanded drops: only pulses are counted.
#pragma once

#include "analysis/droplog/line.hpp"

#include <array>
#include <cstdint>
#include <deque>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>

namespace dropledger::recorder {

struct ChannelTally {
    std::uint64_t drops = 0; // commanded
    // Of these, no seed can be added any more: miss + exact + over + short_of
    std::uint64_t settled = 0;
    std::uint64_t miss = 0;     // no seed (portion: empty)
    std::uint64_t short_of = 0; // portion: fewer than asked
    std::uint64_t exact = 0;    // single, or as many as asked
    std::uint64_t over = 0;     // multiple, or more than asked
    std::uint64_t pulses = 0;
    std::uint64_t dry = 0;       // settled without seed in a row, up to now
    std::int64_t seed_at_um = 0; // travelled when a seed was seen last
    std::string last_fault;
};

// A drop to which no seed can be added any more.
struct Settled {
    int channel = 0;
    bool miss = false; // no seed
    bool over = false; // more than asked
};

class LiveTally {
public:
    // Told of every settled drop, in the order of the commands.
    using Watcher = std::function<void(const Settled&)>;
    void watch(Watcher watcher) { watcher_ = std::move(watcher); }

    // Looks for the places of gates relative to the valve.
    void take_setting(int channel, std::string_view key, std::string_view value);

    void take(const droplog::Record& record, std::string_view line);
    void reboot(); // open drops of the boot before are settled
    // Settles what is still open: the run is over.
    void finish() { reboot(); }

    [[nodiscard]] std::map<int, ChannelTally> channels() const;
    [[nodiscard]] std::uint64_t pulses() const;
    [[nodiscard]] std::int64_t travelled_um() const { return travelled_um_; } // of all starts

private:
    struct GateState {
        bool above = false;
        bool heard = false;
        std::uint32_t waiting = 0; // above the valve: seeds for the next drop
    };
    struct OpenDrop {
        std::uint32_t tick_us = 0;
        std::uint32_t asked = 1;
        std::array<std::uint32_t, 2> seeds{};
    };
    struct Lane {
        ChannelTally tally;
        std::array<GateState, 2> gates;
        std::deque<OpenDrop> open; // the latest two, and what the wire may still bring a pulse for
    };

    Lane& lane(int channel) { return lanes_[channel]; }
    void take_drop(const droplog::Record& drop);
    void take_travel(const droplog::Record& travel);
    void take_pulse(Lane& lane, const droplog::Record& pulse) const;
    void settle_oldest(int channel, Lane& lane);

    std::map<int, Lane> lanes_;
    std::optional<std::int64_t> position_um_; // of this start
    std::int64_t travelled_um_ = 0;
    Watcher watcher_;
};

} // namespace dropledger::recorder
