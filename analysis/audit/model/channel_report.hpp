// What the audit found of one channel.
//
// Undefined when: a part cannot be computed it is empty, and `notes` says why.
#pragma once

#include "analysis/audit/model/drop_evidence.hpp"
#include "analysis/audit/model/sensor.hpp"
#include "analysis/causes/along_the_run.hpp"
#include "analysis/causes/cause.hpp"
#include "analysis/measures/channel_tally.hpp"
#include "analysis/verdict/judgement.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace dropledger::audit {

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
    causes::AlongTheRun along;      // the same

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

} // namespace dropledger::audit
