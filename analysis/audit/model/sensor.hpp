// What is known of the gates of a channel: what they counted, say of each other, and overlook.
//
// Undefined when: a part cannot be computed it is empty.
#pragma once

#include "analysis/measures/corrections/sensor_correction.hpp"
#include "analysis/measures/quantity.hpp"
#include "analysis/verdict/judgement.hpp"

#include <cstdint>
#include <map>
#include <optional>
#include <string>
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

} // namespace dropledger::audit
