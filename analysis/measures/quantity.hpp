// Every quantity that the audit of a channel states: its name in files, its name in words, its unit
// and what it can be.
//
// Units: shares are fractions, `_mm` millimetres. Source of the definitions: the section of the
// measures that each row names.
// Undefined when: no direction is better: `good` is empty; no verdict rests on it: `most_limit` is
// empty.
#pragma once

#include "analysis/base/enum_names.hpp"
#include "analysis/droplog/settings.hpp"
#include "analysis/measures/number_words.hpp"
#include "analysis/statistics/basics/natural_range.hpp"

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::measures {

enum class Quantity : std::uint8_t {
    quality_of_feed_index,
    multiples_index,
    miss_index,
    precision,
    mean_mm,
    quality_of_feed,
    multiples,
    misses,
    cp3_reference,
    cp3_fullest_band,
    miss_share,
    multiple_share,
    offset_mm,
    bias_mm,
    sd_mm,
    p95_abs_mm,
    within_allowance,
    mean_count,
    exact_share,
    empty_share,
    short_share,
    over_share,
    spread_mm,
    mean_per_m,
    rate_error,
    cv,
    dispersion_index,
    longest_gap_mm,
    efficiency,
};

// The side on which a unit is good: a limit stands on the other one.
enum class Sense : std::uint8_t { at_most, at_least, magnitude_at_most };

struct SenseRow {
    Sense value;
    std::string_view key; // in JSON
    std::string_view words;
};
inline constexpr std::array senses{
    SenseRow{Sense::at_most, "at_most", "at most"},
    SenseRow{Sense::at_least, "at_least", "at least"},
    SenseRow{Sense::magnitude_at_most, "magnitude_at_most", "in magnitude at most"}};
static_assert(names_all<senses>());

struct Modes {
    bool single = false;
    bool portion = false;
    bool line = false;

    [[nodiscard]] constexpr bool has(droplog::Mode mode) const {
        return mode == droplog::Mode::single    ? single
               : mode == droplog::Mode::portion ? portion
                                                : line;
    }
};

struct QuantityRow {
    Quantity value;
    std::string_view key; // in JSON, profiles and the book
    std::string_view words;
    Unit unit;
    statistics::NaturalRange range; // where it lies by its nature
    std::optional<Sense> good;
    Modes modes;
    std::string_view section;         // of the measures
    std::optional<double> most_limit; // a profile may set a limit from 0 to this
};

[[nodiscard]] const QuantityRow& row_of(Quantity quantity);
[[nodiscard]] std::optional<Quantity> quantity_of(std::string_view key);
[[nodiscard]] std::string_view key_of(Quantity quantity);
[[nodiscard]] std::string_view words_of(Quantity quantity);
[[nodiscard]] Unit unit_of(Quantity quantity);
// Of places on the ground, which a list of spacings does not have.
[[nodiscard]] bool is_placement(Quantity quantity);
// Those by which a profile of the mode can judge, in their order here.
[[nodiscard]] std::vector<Quantity> limited_quantities(droplog::Mode mode);

// A quantity may also be reported as the judging gate saw it, and with the seeds put back that it
// overlooked; shares then stand per commanded drop.
enum class Aspect : std::uint8_t { measured, seen, corrected };

struct Reported {
    Quantity quantity{};
    Aspect aspect = Aspect::measured;
};

// "miss_index", "seen_miss", "corrected_miss". Throws where the quantity has no such aspect.
[[nodiscard]] std::string key_of(const Reported& what);
[[nodiscard]] std::string words_of(const Reported& what); // "misses per drop, corrected"
[[nodiscard]] std::optional<Reported> reported_as(std::string_view key);
[[nodiscard]] std::vector<std::string> reported_keys(); // all that can be read back

} // namespace dropledger::measures
