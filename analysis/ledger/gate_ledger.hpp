// One channel's ledger as one gate saw it: pulses become landings, landings are entered.
//
// Assumes: drops come in time order, pulses nearly; the registration is learnt from the first
// landings (all of them in a run of usual length) unless it is given. Travel may jitter or turn
// back by up to `turning_back_um` at any time; in a run of usual length by any distance, for its
// landings are sorted at the end.
// Units: places in µm in the direction of travel.
#pragma once

#include "analysis/base/ring.hpp"
#include "analysis/ledger/assignment.hpp"
#include "analysis/ledger/ordered_queue.hpp"
#include "analysis/ledger/registration.hpp"
#include "analysis/ledger/setup.hpp"
#include "analysis/ledger/travel.hpp"

#include <cstdint>
#include <limits>
#include <optional>
#include <variant>
#include <vector>

namespace dropledger::ledger {

constexpr std::size_t learning_landings = 8192; // landings, or twice as many drops
constexpr std::int64_t turning_back_um = 2'000'000;
constexpr std::int64_t end_of_time = std::numeric_limits<std::int64_t>::max(); // µs
constexpr std::int64_t latest_us = 1'000'000; // the reader lets nothing through that is later

struct Pulse {
    std::int64_t time_us = 0;
    PulseShape shape;
    std::uint64_t line = 0;
};

struct PulseTally {
    std::uint64_t pulses = 0;
    std::uint64_t seeds = 0;       // handed on as landings
    std::uint64_t debris = 0;      // the classifier saw no seed in it
    std::uint64_t unplaced = 0;    // no travel reference: nobody knows where it landed
    std::uint64_t turned_back = 0; // landed further behind than the ledger waits: strays
};

// Pulses from this time on belong to the next segment, and travel begins anew.
struct SegmentEnd {
    std::int64_t end_us = 0;
};
struct RunEnd {};

// All that a gate's ledger is told.
using GateCall = std::variant<Pulse, Commanded, Knot, SegmentEnd, RunEnd>;

class GateLedger {
public:
    // `travel`: how far the run is.
    GateLedger(Gate gate, const RunSetup& setup, const Travel& travel, EntrySink& sink);

    // Skips learning: the registration of an earlier pass.
    void use_registration(const Registration& registration);

    void take(const Pulse& pulse);
    void take(const Commanded& drop);
    // The newest knot may still be replaced by another one for its instant: what came before it is
    // settled, and entered, once the next one is here.
    void take(const Knot& knot);
    void take(const SegmentEnd& end);
    void take(const RunEnd& end);

    [[nodiscard]] const Gate& gate() const { return gate_; }
    [[nodiscard]] const PulseTally& tally() const { return tally_; }
    [[nodiscard]] const Registration& registration() const { return registration_; }
    [[nodiscard]] std::int64_t registration_um() const { return registration_.offset_um; }

private:
    struct Segment {
        std::vector<Commanded> drops;
        std::vector<Landing> landings;
    };
    struct ByTime {
        bool operator()(const Pulse& a, const Pulse& b) const { return a.time_us < b.time_us; }
    };
    struct ByPlace {
        bool operator()(const Landing& a, const Landing& b) const {
            return a.position_um < b.position_um;
        }
    };

    // Enters what was seen before this time; nothing older comes later.
    void advance(std::int64_t settled_us);
    void land_pulses(std::int64_t settled_us);
    void release_landings(std::int64_t settled_um);
    void release_counts(std::int64_t settled_us);
    void take_place(const Landing& landing);
    void enter(const Landing& landing);
    void settle(std::int64_t settled_um);
    void learn();
    void replay(const Segment& segment);
    [[nodiscard]] bool learning() const {
        return !by_place_ && gate_.place == GatePlace::below && mode_ != Mode::line;
    }

    Gate gate_;
    Mode mode_;
    std::int64_t spacing_um_;
    EntrySink* sink_;
    Travel travel_;
    PulseTally tally_;
    OrderedQueue<Pulse, ByTime> pulses_;
    OrderedQueue<Landing, ByPlace> landings_;
    Registration registration_;
    std::vector<Segment> learnt_from_{1};
    std::size_t learnt_landings_ = 0;
    std::size_t learnt_drops_ = 0;
    std::int64_t settled_um_ = -(std::int64_t{1} << 60U);
    std::int64_t entered_um_ = -(std::int64_t{1} << 60U); // the furthest landing entered so far
    std::optional<AssignmentByPlace> by_place_;
    std::optional<AssignmentByTime> by_time_;
};

} // namespace dropledger::ledger
