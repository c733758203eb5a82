// The result of an audit: what every output renders and nothing computes again.
//
// Undefined when: a part cannot be computed it is empty, and `notes` of its channel says why.
#pragma once

#include "analysis/audit/evidence_watch.hpp"
#include "analysis/causes/cause.hpp"
#include "analysis/droplog/integrity.hpp"
#include "analysis/ledger/run_ledger.hpp"
#include "analysis/measures/channel_tally.hpp"
#include "analysis/measures/corrections/line_correction.hpp"
#include "analysis/measures/corrections/portion_correction.hpp"
#include "analysis/measures/corrections/sensor_correction.hpp"
#include "analysis/measures/quantity.hpp"
#include "analysis/measures/transverse.hpp"
#include "analysis/verdict/judgement.hpp"
#include "analysis/verdict/profile.hpp"
#include "analysis/verdict/stopping_rule.hpp"

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::audit {

using measures::Quantity;

// One quantity as the gate saw it, and with the seeds put back that it overlooked.
struct SensorCorrection {
    Quantity quantity; // of the limit that it answers; shares are per commanded drop
    std::optional<statistics::Estimate> observed;
    measures::Corrected corrected;
};

// Why a run's evidence can't carry a verdict.
enum class Contradiction : std::uint8_t {
    log_disagrees,            // seals, signature, or lines that contradict each other
    gates_disagree,           // the judging gate overlooks what the other one saw
    calibration_contradicted, // by the run that it should correct
    all_units_off,            // by one same amount
    gate_without_place,       // it saw seed, and the log does not say where it sits
    travel_jumps,             // travel lines that no machine can have driven one after the other
    order_not_carried_out,    // drops at another spacing, speed or count than the log states
    channels_alike,           // two channels report the same pulses
    pulses_without_drop,      // the judging gate sees several seeds where nothing else says so
    gate_fell_silent,         // for long, and no other gate says whether seed fell
};

[[nodiscard]] std::string_view key_of(Contradiction kind);

struct Contradicted {
    Contradiction kind = Contradiction::log_disagrees;
    std::optional<int> channel; // none: the whole run
    std::string what;           // a clause
    std::string remedy;
};

// What the two gates of a channel say of each other, on this very run.
struct GateComparison {
    int other_gate = 0;
    std::int64_t judging_seeds = 0;
    std::int64_t other_seeds = 0;
    std::optional<statistics::Estimate> judging_efficiency{}; // single mode, drop by drop
    std::optional<statistics::Estimate> other_efficiency{};
    std::string assumption{};
    bool judge_suspect = false;
    std::int64_t split = 0;     // drops where the judging gate saw several seeds and the other one
    std::int64_t confirmed = 0; // drops where both saw several
    std::int64_t drops = 0;
};

// How an efficiency was found, and what that takes for granted; empty where nobody says.
struct EfficiencySource {
    std::string found_by;
    std::string assumption; // a sentence
};

// Pulses of one gate: how many the audit read, and what it made of them.
struct Sensor {
    std::string calibration;                            // whose efficiency it is
    std::optional<statistics::Estimate> efficiency;     // of the judging gate, from a calibration
    std::vector<SensorCorrection> corrections;          // none without an efficiency
    std::optional<statistics::Estimate> corrected_miss; // of them: misses per drop, single mode
    bool judges_corrected = false; // the calibration is valid: the verdict rests on them
    std::optional<verdict::Outcome> outcome_as_seen; // what the verdict would be without them
    bool contradicted = false; // the run contradicts the calibration: nothing is corrected by it
    std::map<int, std::uint64_t> pulses_by_gate;
    std::vector<int> gates_without_place;            // of these: nobody says where they sit
    EfficiencySource source;                         // of the efficiency
    std::optional<statistics::Interval> empty_drops; // of this run's, single mode, predicted

    [[nodiscard]] const SensorCorrection*
    correction(Quantity quantity) const; // none where there is no such one
};

using causes::Cause;

// The test that a run could stop by, replayed on a channel's ledger.
struct SequentialResult {
    measures::SequentialPath path;
    bool ended_run = false;                    // its own decision is the last of the run's
    std::optional<statistics::Estimate> share; // per commanded drop, with the interval that holds
};

struct ChannelReport {
    int channel = 0;
    std::string unit;
    std::optional<int> row;
    int gate = 0;                  // that judged
    bool gate_only_counts = false; // it sits above the valve: no places
    ledger::Mode mode = ledger::Mode::single;
    bool has_ledger = true; // false for a plain list of spacings and for a line
    measures::LedgerTable table;
    measures::LedgerShares shares; // of its columns, per commanded drop
    std::int64_t pulses = 0;
    std::int64_t rejected_pulses = 0;
    std::int64_t registration_um = 0;
    ledger::Identified registration_identified = ledger::Identified::no_landings;
    std::optional<measures::SpacingResult> spacing;
    std::optional<measures::PlacementResult> placement;
    std::optional<measures::PortionResult> portion;
    std::optional<measures::LineResult> line;
    Sensor sensor;
    std::optional<GateComparison> gates;       // where the channel has two that saw seed
    std::optional<SequentialResult> miss_test; // where the log states a rule
    std::optional<SequentialResult> multiples_test;
    measures::Independence misses_independence;
    measures::Independence multiples_independence;
    verdict::Judgement judgement;
    std::vector<Cause> causes;
    std::vector<std::string> notes; // assumptions and things left out, as sentences
    measures::Trace trace;          // drop by drop, for the pictures
    DropEvidence evidence;          // of the judging gate
};

struct Siblings {
    std::vector<int> unlike; // channels
    std::string method;
    std::vector<std::string> findings; // in words, one a channel
};

struct AuditReport {
    std::string file;
    std::string run_id;
    std::string started;
    bool from_spacings = false;
    droplog::Integrity integrity; // nothing in it where from_spacings
    droplog::Header header;
    verdict::Profile profile;
    verdict::StoppingRule stopping_rule; // that the log states; tests nothing where there is none
    std::optional<std::string> calibration;
    ledger::RunSetup setup;
    std::vector<ChannelReport> channels;
    std::vector<ledger::Fault> faults;
    std::string halted_reason;
    ledger::TravelExtent travelled;
    int direction = 1; // of travel, −1 where positions count down
    Siblings siblings;
    std::optional<measures::Transverse> transverse; // line mode, two channels or more
    std::vector<Contradicted> contradictions;       // to be said first
    std::vector<std::string> notes;                 // for the whole run
    verdict::Outcome outcome = verdict::Outcome::undecided;
};

} // namespace dropledger::audit
