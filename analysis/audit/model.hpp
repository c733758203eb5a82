// The result of an audit: what every output renders and nothing computes again.
//
// Undefined when: a part cannot be computed it is empty, and `notes` of its channel says why.
#pragma once

#include "analysis/audit/evidence_watch.hpp"
#include "analysis/base/enum_names.hpp"
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

#include <array>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace dropledger::audit {

using measures::Quantity;

// One quantity as the gate saw it, and with the seeds put back that it overlooked.
struct SensorCorrection {
    Quantity quantity; // of the limit that it answers; shares are per commanded drop
    std::optional<statistics::Estimate> observed;
    measures::Corrected corrected;
};

// The quantity under which a limit of `quantity` finds its corrected value: shares per commanded drop
// are the same, whichever of the two is limited.
[[nodiscard]] Quantity corrected_as(Quantity quantity);

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
    drops_out_of_step,        // seeds lie where other drops were commanded than opened for them
};
constexpr std::array<EnumName<Contradiction>, 11> contradiction_names{
    {{Contradiction::log_disagrees, "log_disagrees"},
     {Contradiction::gates_disagree, "gates_disagree"},
     {Contradiction::calibration_contradicted, "calibration_contradicted"},
     {Contradiction::all_units_off, "all_units_off"},
     {Contradiction::gate_without_place, "gate_without_place"},
     {Contradiction::travel_jumps, "travel_jumps"},
     {Contradiction::order_not_carried_out, "order_not_carried_out"},
     {Contradiction::channels_alike, "channels_alike"},
     {Contradiction::pulses_without_drop, "pulses_without_drop"},
     {Contradiction::gate_fell_silent, "gate_fell_silent"},
     {Contradiction::drops_out_of_step, "drops_out_of_step"}}};
static_assert(names_all<contradiction_names>());

[[nodiscard]] constexpr std::string_view key_of(Contradiction kind) {
    return row_in(contradiction_names, kind).key;
}

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

// What the commanded drops of a channel got: of single drops and of portions alike.
struct CommandedDrops {
    measures::LedgerTable table;
    std::optional<measures::PlacementResult> placement; // none where the gate only counts
    std::optional<SequentialResult> miss_test;          // where the log states a rule
    std::optional<SequentialResult> multiples_test;
    measures::Independence misses_independence;    // or of empty portions
    measures::Independence multiples_independence; // or of portions over their count
    measures::Trace trace;                         // drop by drop, for the pictures
};

struct SingleDrops {
    CommandedDrops drops;
    measures::SingleShares shares;
    std::optional<measures::SpacingResult> spacing; // none where the gate only counts
};

struct Portions {
    CommandedDrops drops;
    measures::PortionShares shares;
    std::optional<measures::PortionResult> portion; // none without a drop
};

// A line has no commanded drops, and a plain list of spacings neither: they have no ledger.
using Results = std::variant<SingleDrops, Portions, measures::LineResult, measures::SpacingResult>;

struct Counted {
    std::int64_t count = 0;
    std::string_view what; // drops, segments or spacings
};

struct ChannelReport {
    int channel = 0;
    std::string unit;
    std::optional<int> row;
    int gate = 0;                  // that judged
    bool gate_only_counts = false; // it sits above the valve: no places
    std::int64_t pulses = 0;
    std::int64_t rejected_pulses = 0;
    Results results;
    Sensor sensor;
    std::optional<GateComparison> gates; // where the channel has two that saw seed
    verdict::Judgement judgement;
    std::vector<Cause> causes;
    std::vector<std::string> notes; // assumptions and things left out, as sentences
    DropEvidence evidence;          // of the judging gate

    [[nodiscard]] ledger::Mode mode() const; // of a list of spacings: single
    // What the verdict's least number counts.
    [[nodiscard]] Counted counted() const;

    // Null where the results hold no such thing.
    [[nodiscard]] const CommandedDrops* drops() const;
    [[nodiscard]] CommandedDrops* drops();
    [[nodiscard]] const SingleDrops* single() const { return std::get_if<SingleDrops>(&results); }
    [[nodiscard]] const Portions* portions() const { return std::get_if<Portions>(&results); }
    [[nodiscard]] const measures::LineResult* line() const {
        return std::get_if<measures::LineResult>(&results);
    }
    [[nodiscard]] const measures::SpacingResult* spacing() const; // of drops or of a list
    [[nodiscard]] const measures::PlacementResult* placement() const;
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
    std::string started_here{}; // the same in local time, where the caller knows it
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
