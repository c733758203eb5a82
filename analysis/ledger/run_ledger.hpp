// The whole run: routes drops, pulses and travel of a log to one ledger per channel, and keeps what
// the controller reported besides.
//
// Assumes: it is fed by droplog::read_log, which lets no line through that is over a second late:
// lines are put in tick order before anything is read from them. Travel may run either way: places
// are counted in the direction of travel, one for each segment (a boot, a start), so that errors
// are positive where seeds land late; `direction` says which way that was. Where a segment turned
// out to have gone the other way than its beginning, `misdirected` is set and the log must be read
// again with `known()`. Ledgers of gates work on threads where a Spread says so: nothing but
// failure() may be asked before finish().
// Undefined when: `failure` is set (a setting that cannot be); then nothing else means anything.
#pragma once

#include "analysis/droplog/reader.hpp"
#include "analysis/droplog/reasons.hpp"
#include "analysis/ledger/course.hpp"
#include "analysis/ledger/gate_ledger.hpp"
#include "analysis/ledger/gate_threads.hpp"

#include <array>
#include <functional>
#include <limits>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::ledger {

struct Fault {
    int channel = -1;
    std::string code; // as the controller wrote it: maybe of a later version
    std::int64_t time_us = 0;
    std::uint64_t line = 0;

    [[nodiscard]] bool is(droplog::FaultCode known) const { return code == name_of(known); }
    // A fault that names no channel may be of any.
    [[nodiscard]] bool concerns(int number) const { return channel == number || channel < 0; }
};

struct TravelExtent {
    std::int64_t distance_um = 0; // all segments together
    std::int64_t duration_us = 0;
    std::int64_t step_um = 0; // greatest that divides every step between two travel lines: an
                              // encoder's count; 0: no steps
    // Of the duration: travel went on for over two seconds from one travel line to the next.
    std::int64_t untold_us = 0;
    std::uint64_t jumps = 0; // travel lines that no machine can have driven to: left out
    // Times that the position went on from another place, without a boot
    std::uint64_t set_anew = 0;
    std::vector<std::uint64_t> jumps_at{}; // the first few lines
};

// What an earlier pass over the same log found out.
struct KnownRun {
    std::map<std::pair<int, int>, Registration> registrations; // of a channel's gate
    std::vector<int> directions;                               // of each segment
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

    RunLedger(Prepare prepare, SinkFor sink_for, KnownRun known = {}, Spread spread = {});

    void begin(const droplog::Header& header) override;
    void reboot() override;
    void take(const droplog::Event& event) override;
    // After the last line; throws what a gate's ledger, or its sink, threw.
    void finish();

    [[nodiscard]] const std::optional<Error>& failure() const { return failure_; }
    [[nodiscard]] const RunSetup& setup() const { return setup_; }
    [[nodiscard]] const std::map<int, ChannelOutcome>& channels() const { return channels_; }
    [[nodiscard]] const std::vector<Fault>& faults() const { return faults_; }
    [[nodiscard]] const std::string& halted_reason() const { return halted_reason_; }
    [[nodiscard]] const TravelExtent& travelled() const { return travelled_; }
    // Of all segments; 1 where they went different ways.
    [[nodiscard]] int direction() const { return direction_of_all_.value_or(1); }
    [[nodiscard]] const std::vector<int>& directions() const { return directions_; }
    [[nodiscard]] bool misdirected() const { return misdirected_; }

private:
    // A drop, a travel line or a start, with what counts of it.
    struct Waiting {
        std::int64_t time_us = 0;
        std::uint64_t line = 0;
        std::int64_t position_um = 0;
        std::uint32_t index = 0;
        std::uint32_t count = 0;
        std::int16_t channel = -1;
        droplog::LineName name = droplog::LineName::travel;
    };
    struct ByTime {
        bool operator()(const Waiting& a, const Waiting& b) const { return a.time_us < b.time_us; }
    };

    struct Feed { // of one channel
        ChannelOutcome* outcome = nullptr;
        std::vector<GateThreads::Inbox> gates; // as in the outcome
    };

    Feed& channel(int number) {
        Feed& known = by_number_[static_cast<std::size_t>(number)];
        if (known.outcome == nullptr)
            begin_channel(number);
        return known;
    }
    void begin_channel(int number);
    template <class Call> void tell_all(const Call& call);
    void take_pulse(const droplog::Event& event);
    void take_report(const droplog::Event& event);
    void interpret_before(std::int64_t time_us);
    void interpret(const Waiting& line);
    void take_drop(const Waiting& line);
    void take_travel(const Waiting& line);
    void take_start(std::int64_t time_us);
    void take_knot(Knot knot);
    void add_step(std::int64_t step_um);
    void set_out_where_possible();
    void set_out();
    void place_drop(const Waiting& line);
    void place_knot(Knot knot);
    void begin_again(std::int64_t end_us);
    void begin_segment();
    void end_segment(std::int64_t end_us);

    Prepare prepare_;
    SinkFor sink_for_;
    KnownRun known_;
    RunSetup setup_;
    std::optional<Error> failure_;
    std::map<int, ChannelOutcome> channels_;
    std::array<Feed, droplog::greatest_channel + 1> by_number_;
    std::vector<Feed*> fed_; // those that have begun
    std::vector<Fault> faults_;
    std::string halted_reason_;
    Travel travel_{std::nullopt}; // for channels that begin in mid-run
    TravelExtent travelled_;
    OrderedQueue<Waiting, ByTime> waiting_; // for lines that are late
    std::int64_t newest_us_ = std::numeric_limits<std::int64_t>::min();
    std::uint32_t start_ = 0;
    bool has_started_ = false; // in this boot
    Course course_;
    std::optional<Knot> last_knot_;   // of travel, in the segment
    int direction_ = 0;               // 0: not known yet in this segment
    std::vector<Waiting> undirected_; // drops and travel until then
    std::vector<int> directions_;     // of the segments that have ended
    std::optional<int> direction_of_all_;
    bool misdirected_ = false;
    GateThreads threads_; // last: they end before what they work on
};

} // namespace dropledger::ledger
