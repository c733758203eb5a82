// What one run is to be: its settings for the log, its order for the controller, its patience.
//
// Units: in the names; times are µs.
#pragma once

#include "bench/recorder/protocol/lines/tally.hpp"
#include "bench/recorder/protocol/plan/start.hpp"

#include "analysis/base/units.hpp"
#include "analysis/droplog/integrity.hpp"
#include "analysis/droplog/seal.hpp"
#include "analysis/droplog/settings.hpp"

#include <cstdint>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::recorder {

// The fields of the `arm` line.
struct ArmOrder {
    droplog::Mode mode = droplog::Mode::single;
    std::int64_t spacing_um = 0; // line mode: mean distance of two seeds
    std::int64_t count = 1;      // seeds per commanded drop
    std::int64_t speed_um_s = 0;
    std::uint32_t channel_mask = 1;
    std::int64_t drops = 0; // per channel; line mode: seeds
};

[[nodiscard]] std::string arm_line(const ArmOrder& order); // with its CRC

// Drops per channel that were ordered and not commanded yet; channels with none left are not in it.
// One `arm` gives all its channels the same number: where remainders differ, going on takes one
// start for each of them.
// Undefined when: line mode, or an order without an end: empty.
[[nodiscard]] std::map<int, std::int64_t> remainder(const ArmOrder& order, const LiveTally& tally);

// The order of a start that makes the drops that are left, or as many of them as all channels lack
// that lack any; none where nothing is left.
[[nodiscard]] std::optional<ArmOrder> rest_of(const ArmOrder& order, const LiveTally& tally);

struct Setting {
    std::string key;
    std::string value;
};

struct ChannelSetting {
    int channel = 0;
    std::string key;
    std::string value;
};

// Empty where the channel has none.
[[nodiscard]] std::string setting_of(std::span<const ChannelSetting> all, int channel,
                                     std::string_view key);

struct Timings {
    Microseconds alive{250'000};         // the controller halts after 2 s without one
    Microseconds dead_man{10'000'000};   // without a turn of the recorder, then `halt` for `alive`
    Microseconds slow_disk{1'000'000};   // a sync that takes longer is told
    Microseconds standstill{10'000'000}; // started, yet nothing moves: then halt
    Microseconds confirmed_for{120'000'000}; // a start that was not begun by then is not begun
    Microseconds retry{400'000};  // hello, arm, go, halt without an answer are sent again
    Microseconds resend{100'000}; // one gap is not asked for more often
    Microseconds at{500'000};     // wall-clock marks
    Microseconds commit{50'000};  // from the first unsynced line to the sync and its ack
    Microseconds seal{8'000'000}; // the format wants 10 s at most
    Microseconds settle{500'000}; // what is still falling, or still on the wire, after `halted`
    Microseconds settle_limit{4'000'000};  // with a gap still open
    Microseconds answer_limit{10'000'000}; // until a controller has answered hello, arm or go
    Microseconds halt_limit{5'000'000};    // until `halted` has come
    Microseconds silence{3'000'000}; // a beat comes every second: then ask whether it is there
    Microseconds reopen{8'000'000};  // of silence, then the port is opened anew
    Microseconds reconnect_limit{30'000'000};
};

struct RunPlan {
    std::string run_id; // UUID
    std::vector<Setting> settings;
    std::vector<ChannelSetting> channel_settings;
    std::vector<std::string> remarks; // for the head of the log
    ArmOrder order;
    Timings timings;
    std::optional<StartConfirmed> start; // without it nothing is armed or started
    // A run that only lost its host is closed although drops are left; else its log stays open.
    bool closes_unfinished = false;
    bool discard_held = false; // lines of an earlier run that the controller holds may be given up
    std::optional<droplog::PrivateKey> key; // signs the last seal where the bench has one
};

// What is wrong where a bench of so many channels lacks one of the order's.
[[nodiscard]] std::optional<Error> lacking_channels(std::uint32_t channel_mask,
                                                    std::uint32_t channels);

// The head that the run's log will have, but for its remarks; `started`: RFC 3339.
[[nodiscard]] droplog::Header head_of(const RunPlan& plan, const std::string& started);

} // namespace dropledger::recorder
