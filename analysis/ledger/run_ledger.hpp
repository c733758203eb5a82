// The whole run: routes drops, pulses and travel of a log to one ledger per channel, and keeps what the
// controller reported besides.
//
// Assumes: it is fed by droplog::read_log. Travel may run either way: places are counted in the direction of
// travel, so that errors are positive where seeds land late; `direction` says which way that was.
// Undefined when: `failure` is set (a setting that cannot be); then nothing else means anything.
#pragma once

#include "analysis/droplog/reader.hpp"
#include "analysis/ledger/gate_ledger.hpp"

#include <array>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::ledger {

struct Fault {
    int channel = -1;
    std::string code;
    std::int64_t time_us = 0;
    std::uint64_t line = 0;
};

struct TravelExtent {
    std::int64_t distance_um = 0; // all segments together
    std::int64_t duration_us = 0;
    std::int64_t step_um = 0; // greatest that divides every step between two travel lines: an encoder's count; 0: no steps
};

// What one channel's ledgers came to.
struct ChannelOutcome {
    ChannelSetup setup;
    std::size_t judge = 0; // which of the gate ledgers
    std::vector<GateLedger> gates;
    std::map<int, std::uint64_t> pulses_by_gate; // every gate, also those that do not judge
};

class RunLedger final : public droplog::Consumer {
public:
    using Prepare = std::function<Result<RunSetup>(const droplog::Header&)>;
    using SinkFor = std::function<EntrySink&(const RunSetup&, const ChannelSetup&, const Gate&)>;
    // Registration to use for a channel's gate, where an earlier pass found it.
    using Registrations = std::map<std::pair<int, int>, std::int64_t>;

    RunLedger(Prepare prepare, SinkFor sink_for, Registrations registrations = {});

    void begin(const droplog::Header& header) override;
    void reboot() override;
    void take(const droplog::Event& event) override;
    // After the last line.
    void finish();

    [[nodiscard]] const std::optional<Error>& failure() const { return failure_; }
    [[nodiscard]] const RunSetup& setup() const { return setup_; }
    [[nodiscard]] const std::map<int, ChannelOutcome>& channels() const { return channels_; }
    [[nodiscard]] const std::vector<Fault>& faults() const { return faults_; }
    [[nodiscard]] const std::string& halted_reason() const { return halted_reason_; }
    [[nodiscard]] const TravelExtent& travelled() const { return travelled_; }
    [[nodiscard]] int direction() const { return direction_ == 0 ? 1 : direction_; }

private:
    struct Knot {
        std::int64_t time_us = 0;
        std::int64_t position_um = 0;
    };

    ChannelOutcome& channel(int number) {
        ChannelOutcome* const known = by_number_[static_cast<std::size_t>(number)];
        return known != nullptr ? *known : new_channel(number);
    }
    ChannelOutcome& new_channel(int number);
    void take_travel(std::int64_t time_us, std::int64_t position_um);
    void take_drop(const droplog::Event& event);
    void take_pulse(const droplog::Event& event);
    void take_report(const droplog::Event& event);
    void set_out(int direction);
    void advance();
    void end_segment();
    [[nodiscard]] int best_direction() const; // of a segment too short to set out

    Prepare prepare_;
    SinkFor sink_for_;
    Registrations registrations_;
    RunSetup setup_;
    std::optional<Error> failure_;
    std::map<int, ChannelOutcome> channels_;
    std::array<ChannelOutcome*, droplog::greatest_channel + 1> by_number_{};
    std::vector<Fault> faults_;
    std::string halted_reason_;
    Travel travel_{std::nullopt};
    TravelExtent travelled_;
    std::optional<Knot> first_knot_;
    Knot last_knot_;
    int direction_ = 0;                     // 0: not known yet in this segment
    std::vector<droplog::Event> undirected_; // drops and travel until then
};

} // namespace dropledger::ledger
