// What the book holds of one file: plain values, each a row of a table.
//
// Units: in the names of the quantities (`_mm`), shares as fractions. Times are RFC 3339 UTC, dates
// YYYY-MM-DD.
// Undefined when: the log does not say it: an empty text, or an empty optional.
#pragma once

#include "analysis/droplog/settings.hpp"
#include "analysis/sampling/sampling_plan.hpp"
#include "analysis/verdict/judgement.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::book {

struct Quantity {
    std::string group; // of the audit's JSON: spacing, placement, sensor, …
    std::string key;
    double value = 0.0;
    std::optional<double> low;
    std::optional<double> high;
};

struct Verdict { // on one channel of one run
    int channel = 0;
    std::string unit;
    std::optional<int> row;
    int gate = 0;
    verdict::Outcome outcome = verdict::Outcome::undecided;
    std::string reason; // criteria that are not within, in words
    std::int64_t drops = 0;
    std::vector<Quantity> quantities;
};

struct Run {
    std::string run_id;
    std::string file; // from the book's folder, where it lies below it
    std::string sha256;
    std::string started;
    std::string bench;
    std::string person;
    std::string crop;
    std::string seed_lot;
    std::optional<std::int64_t> thousand_seed_mass_mg;
    droplog::Mode mode = droplog::Mode::single;
    std::optional<double> speed_mps;
    std::string profile;     // that judged
    std::string calibration; // that was applied
    std::string judged_by;   // this program's version; empty: before 0.2.0
    bool complete = false;
    bool seals_intact = false;
    bool is_signed = false;
    verdict::Outcome outcome = verdict::Outcome::undecided;
    std::vector<Verdict> verdicts;
};

// A calibration record or a tolerance profile: the whole text stays in the book.
struct TextEntry {
    std::string id; // of a record; a profile's name
    std::string file;
    std::string sha256;
    std::string text;
};

struct Batch {
    std::string id;
    std::string file;
    std::string sha256;
    std::string opened;
    std::int64_t lot = 0;
    std::string profile;
    std::optional<batch::LotOutcome> decision; // none: open
};

constexpr std::string_view undecided_word = "open";

[[nodiscard]] constexpr std::string_view decision_word(const Batch& batch) {
    return batch.decision ? word_of(*batch.decision) : undecided_word;
}

// Views over the runs.
struct Unit {
    std::string unit;
    std::int64_t runs = 0;
    std::string first; // started
    std::string last;
    verdict::Outcome last_outcome = verdict::Outcome::undecided;
};

struct SeedLot {
    std::string lot;
    std::string crop;
    std::optional<std::int64_t> thousand_seed_mass_mg;
    std::int64_t runs = 0;
};

} // namespace dropledger::book
