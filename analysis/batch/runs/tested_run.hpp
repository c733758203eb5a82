// One unit's run as a batch lists it: what it was, where its log lies, what came out.
//
// Assumes: hashes and keys are lower-case hex, times RFC 3339, dates YYYY-MM-DD. A log of several
// channels is several runs, one a unit, with one run id, file and hash.
#pragma once

#include "analysis/base/enum_names.hpp"
#include "analysis/statistics/basics/estimate.hpp"
#include "analysis/verdict/judgement.hpp"

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::batch {

// Under which a unit was tested, as its log states them; empty where it does not.
struct RunConditions {
    std::string bench;
    std::string operated_by;
    std::string firmware;
    std::string crop;
    std::string seed_lot;
    std::string thousand_seed_mass_mg;
    std::string mode;
    std::string spacing_um;
    std::string count;            // seeds a drop
    std::string rate_per_m_milli; // line mode
    std::string speed_um_s;

    [[nodiscard]] bool operator==(const RunConditions&) const = default;
};

// Why a run can't be within, whatever its figures; outside it may be.
enum class HeldBack : std::uint8_t {
    no,
    halted_early,             // it ended neither by its count nor by its stopping rule
    calibration_contradicted, // by the run that it should correct
};
inline constexpr std::array held_back_names{
    EnumName{HeldBack::no, "no"}, EnumName{HeldBack::halted_early, "halted_early"},
    EnumName{HeldBack::calibration_contradicted, "calibration_contradicted"}};
static_assert(names_all<held_back_names>());

// What the bench did wrong where a run is taken out of the count.
enum class VoidCause : std::uint8_t {
    guard_or_lid_open,
    hopper_not_filled,
    wrong_order,
    wrong_unit,
    gate_fault,
    drive_fault,
    power_or_cable,
    not_as_recorded,
};
inline constexpr std::array void_cause_names{
    EnumName{VoidCause::guard_or_lid_open, "guard_or_lid_open"},
    EnumName{VoidCause::hopper_not_filled, "hopper_not_filled"},
    EnumName{VoidCause::wrong_order, "wrong_order"},
    EnumName{VoidCause::wrong_unit, "wrong_unit"},
    EnumName{VoidCause::gate_fault, "gate_fault"},
    EnumName{VoidCause::drive_fault, "drive_fault"},
    EnumName{VoidCause::power_or_cable, "power_or_cable"},
    EnumName{VoidCause::not_as_recorded, "not_as_recorded"}};
static_assert(names_all<void_cause_names>());

struct TakenOut {
    VoidCause cause = VoidCause::gate_fault;
    std::string text; // what was seen
    std::string at;
};

// Lines of one boot; a controller may make several runs without booting anew.
struct BootSpan {
    std::string boot;
    std::int64_t first_seq = 0;
    std::int64_t last_seq = 0;
};

// What came out for one of the profile's limits.
struct LimitResult {
    verdict::Limit limit;
    std::optional<statistics::Estimate> estimate;
    verdict::Outcome outcome = verdict::Outcome::undecided;
};

struct TestedRun {
    std::string unit;
    int channel = 0;
    std::string run; // id
    std::string file;
    std::string sha256; // of the whole log
    std::string last_seal;
    std::string signed_by; // public key; empty where the log is not signed
    std::string started;
    std::string ended;           // the latest time that the host noted
    std::vector<BootSpan> boots; // of the controller: what of each boot stands in the log
    // Of this channel's pulses, each against the one before; empty where there are too few to tell
    // two runs apart.
    std::string stream;
    std::optional<std::int64_t> run_number; // of the key's counter
    std::string previous_seal;              // of the run before by that counter
    bool simulated = false;                 // the log says so, or its controller
    RunConditions conditions;
    std::vector<std::string> calibrations; // ids of those that hold for this unit
    bool calibrated = false;               // the counting of the gate that judges it is known
    bool whole = false;                    // no line is missing, and its seals hold
    verdict::Outcome outcome = verdict::Outcome::undecided;
    HeldBack held_back = HeldBack::no;
    std::int64_t drops = 0;
    std::int64_t misses = 0; // as the gate saw them; portion mode: empty drops
    std::optional<statistics::Estimate> corrected_miss; // the gate's own misses taken out
    std::vector<LimitResult> limits;                    // of the profile, in its order
    std::optional<TakenOut> taken_out;
    std::string reason; // of a re-test

    [[nodiscard]] bool counted() const { return !taken_out; }
};

// Runs that were taken out of the count, and how many may be.
struct TakenOutTally {
    std::int64_t runs = 0;
    std::int64_t outside = 0;       // of these, judged outside
    std::int64_t units_outside = 0; // units that lost such a run
    std::int64_t bound = 0;         // more such units: the batch cannot be accepted

    [[nodiscard]] bool beyond() const { return units_outside > bound; }
};
// How the counting efficiency of a record was found.
enum class RestsOn : std::uint8_t {
    typed,   // the efficiency itself was written by hand
    figures, // counts or masses that were typed: it follows from them
    logs,    // counts that follow from logs
};
inline constexpr std::array rests_on_names{EnumName{RestsOn::typed, "typed"},
                                           EnumName{RestsOn::figures, "figures"},
                                           EnumName{RestsOn::logs, "logs"}};
static_assert(names_all<rests_on_names>());

struct UsedEfficiency {
    std::optional<statistics::Estimate> efficiency;
    std::string found_by; // hand count, weighing, two gates; empty: nobody says
    RestsOn rests_on = RestsOn::typed;
    std::string figures;             // in words; empty where there are none
    std::vector<std::string> inputs; // files that the record names
};

struct UsedCalibration {
    std::string id;
    std::string file;
    std::string sha256; // of the whole file
    std::string expires;
    std::string holds_for; // in words: gate, bench, unit, crop
    UsedEfficiency found;
};

// Another batch file, by the hash of its latest entry.
struct EarlierBatch {
    std::string id;
    std::string head;
};

} // namespace dropledger::batch
