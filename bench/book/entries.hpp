// What the book holds of one file: plain values, each a row of a table.
//
// Units: in the names of the quantities (`_mm`), shares as fractions. Times are RFC 3339 UTC, dates
// YYYY-MM-DD. Undefined when: the log does not say it: an empty text, or an empty optional.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
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
    std::string outcome;
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
    std::string mode;
    std::optional<double> speed_mps;
    std::string profile;     // that judged
    std::string calibration; // that was applied
    bool complete = false;
    bool seals_intact = false;
    bool is_signed = false;
    std::string outcome;
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
    std::string decision;
};

} // namespace dropledger::book
