// A calibration as it is kept: what was found, when, for which bench, unit, gate and seed, from
// which files, until when.
//
// Units: in the names.
// Assumes: dates are YYYY-MM-DD.
// Undefined when: a key is unknown, missing or cannot be: refused with file:line.
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/statistics/basics/estimate.hpp"
#include "calibration/classifier/classifier.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::calibration {

// Empty: holds for any.
struct HoldsFor {
    std::string bench;
    std::string unit;
    std::string crop;
    int gate = 1;
    std::optional<statistics::Interval> seed_mm;
};

struct ValueWithU {
    double value = 0.0;
    double u = 0.0;
};

struct LeadValues {
    ValueWithU lag_us;
    ValueWithU offset_mm;
    double covariance_us_mm = 0.0;
    std::optional<std::int64_t> lead_to_set_us;
};

struct InputFile {
    std::string file;
    std::string sha256; // hex
};

struct Record {
    std::string id;
    std::string date;
    std::string expires;
    HoldsFor holds_for;
    std::optional<statistics::Estimate> efficiency;
    std::optional<ValueWithU> flight_us;
    std::optional<LeadValues> lead;
    std::optional<Classifier> classifier;
    std::vector<InputFile> inputs;
};

[[nodiscard]] Result<Record> parse_record(std::string_view toml, const std::string& where);
[[nodiscard]] std::string to_toml(const Record& record);

// `added` laid over `kept`: values that `added` has replace, inputs are joined. Refused where they
// are not for the same.
[[nodiscard]] Result<Record> joined(Record kept, const Record& added);

} // namespace dropledger::calibration
