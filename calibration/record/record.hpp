// A calibration as it is kept: what was found, when, for which bench, unit, gate and seed, from
// which files, until when.
//
// Units: in the names.
// Assumes: dates are YYYY-MM-DD.
// Undefined when: a key is unknown, missing or cannot be: refused with file:line.
#pragma once

#include "analysis/base/enum_names.hpp"
#include "analysis/base/result.hpp"
#include "analysis/statistics/basics/estimate.hpp"
#include "calibration/classifier/classifier.hpp"
#include "calibration/efficiency/figures.hpp"

#include <array>
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

// How an efficiency was found; the record says it in words.
enum class FoundBy : std::uint8_t { hand_count, weighing, two_gates };
inline constexpr std::array found_by_names{EnumName{FoundBy::hand_count, "hand count"},
                                           EnumName{FoundBy::weighing, "weighing"},
                                           EnumName{FoundBy::two_gates, "two gates"}};
static_assert(names_all<found_by_names>());

struct EfficiencySource {
    FoundBy found_by = FoundBy::hand_count;
    std::string assumption;         // a sentence: what it takes for granted
    std::optional<Figures> figures; // hand-written records have none
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
    // Of a log whose two gates were matched: that channel's. Records hold pulse classes for it.
    std::optional<int> channel{};
};

struct Record {
    std::string id;
    std::string date;
    std::string expires;
    HoldsFor holds_for;
    std::optional<statistics::Estimate> efficiency;
    std::optional<EfficiencySource> efficiency_source; // older records do not say
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
