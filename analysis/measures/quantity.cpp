#include "analysis/measures/quantity.hpp"

#include <algorithm>

namespace dropledger::measures {

namespace {

using statistics::NaturalRange;

constexpr NaturalRange share{0.0, 1.0};
constexpr NaturalRange magnitude{0.0, {}};
constexpr NaturalRange any{};

constexpr Modes single{true, false, false};
constexpr Modes portion{false, true, false};
constexpr Modes line{false, false, true};
constexpr Modes drops{true, true, false};
constexpr Modes every{true, true, true};

constexpr auto low = Sense::at_most;
constexpr auto high = Sense::at_least;
constexpr auto near_0 = Sense::magnitude_at_most;
constexpr std::optional<Sense> neither{};

constexpr std::optional<double> whole = 1.0; // the greatest limit of a share
constexpr std::optional<double> any_length_mm = 1e6;
constexpr std::optional<double> none{};

constexpr auto percent = Unit::percent;
constexpr auto mm = Unit::millimetres;
constexpr auto per_m = Unit::per_metre;
constexpr auto ratio = Unit::ratio;

using Q = Quantity;

// clang-format off
constexpr std::array rows = std::to_array<QuantityRow>({
    {Q::quality_of_feed_index, "quality_of_feed_index", "quality of feed index A", percent, share, high, single, "3", whole},
    {Q::multiples_index, "multiples_index", "multiples index D", percent, share, low, single, "3", whole},
    {Q::miss_index, "miss_index", "miss index M", percent, share, low, single, "3", whole},
    {Q::precision, "precision", "precision C", percent, magnitude, low, single, "3", 0.5},
    {Q::mean_mm, "mean_mm", "mean spacing", mm, magnitude, neither, single, "3", none},
    {Q::quality_of_feed, "quality_of_feed", "quality of feed per spacing", percent, share, high, single, "3", whole},
    {Q::multiples, "multiples", "multiples per spacing", percent, share, low, single, "3", whole},
    {Q::misses, "misses", "misses per spacing", percent, share, low, single, "3", whole},
    {Q::cp3_reference, "cp3_reference", "CP3 about the theoretical spacing", percent, share, high, single, "3", whole},
    {Q::cp3_fullest_band, "cp3_fullest_band", "CP3 about the fullest band", percent, share, high, single, "3", none},
    {Q::miss_share, "miss_share", "miss share", percent, share, low, single, "2", whole},
    {Q::multiple_share, "multiple_share", "share of multiples", percent, share, low, single, "2", whole},
    {Q::offset_mm, "offset_mm", "offset (median over landings)", mm, any, near_0, drops, "2", any_length_mm},
    {Q::bias_mm, "bias_mm", "bias (mean over entries)", mm, any, near_0, drops, "2", any_length_mm},
    {Q::sd_mm, "sd_mm", "standard deviation", mm, magnitude, low, drops, "2", any_length_mm},
    {Q::p95_abs_mm, "p95_abs_mm", "95th percentile of |error|", mm, magnitude, low, drops, "2", any_length_mm},
    {Q::within_allowance, "within_allowance", "inside the allowance", percent, share, high, drops, "2", whole},
    {Q::mean_count, "mean_count", "mean seeds per portion", ratio, magnitude, neither, portion, "2", none},
    {Q::exact_share, "exact_share", "portions of exactly the count", percent, share, high, portion, "2", whole},
    {Q::empty_share, "empty_share", "empty portions", percent, share, low, portion, "2", whole},
    {Q::short_share, "short_share", "short portions", percent, share, low, portion, "2", whole},
    {Q::over_share, "over_share", "portions over their count", percent, share, low, portion, "2", whole},
    {Q::spread_mm, "spread_mm", "length of a portion (mean)", mm, magnitude, low, portion, "2", any_length_mm},
    {Q::mean_per_m, "mean_per_m", "seeds per metre (mean)", per_m, magnitude, neither, line, "4", none},
    {Q::rate_error, "rate_error", "rate error", percent, any, near_0, line, "4", whole},
    {Q::cv, "cv", "coefficient of variation", percent, magnitude, low, line, "4", 100.0},
    {Q::dispersion_index, "dispersion_index", "index of dispersion", ratio, magnitude, low, line, "4", 1000.0},
    {Q::longest_gap_mm, "longest_gap_mm", "longest gap", mm, magnitude, low, line, "4", none},
    {Q::efficiency, "efficiency", "efficiency of the judging gate", percent, share, neither, every, "5", none},
});
// clang-format on
static_assert(names_all<rows>());

// Quantities that can be told as seen and as corrected; the keys say that shares are per drop.
struct SensorName {
    Quantity value;
    std::string_view key;
    std::string_view words;
};

constexpr std::array sensor_names = std::to_array<SensorName>({
    {Q::miss_index, "miss", "misses per drop"},
    {Q::multiples_index, "multiples", "multiples per drop"},
    {Q::quality_of_feed_index, "singles", "singles per drop"},
    {Q::mean_count, "mean_count", "seeds per portion"},
    {Q::exact_share, "exact_share", "exact portions"},
    {Q::empty_share, "empty_share", "empty portions"},
    {Q::short_share, "short_share", "short portions"},
    {Q::over_share, "over_share", "portions over"},
    {Q::mean_per_m, "mean_per_m", "seeds per metre"},
    {Q::rate_error, "rate_error", "rate error"},
    {Q::cv, "cv", "coefficient of variation"},
    {Q::dispersion_index, "dispersion_index", "index of dispersion"},
});

const SensorName& sensor_name(Quantity quantity) {
    const auto* const found =
        std::find_if(sensor_names.begin(), sensor_names.end(),
                     [&](const SensorName& one) { return one.value == quantity; });
    if (found == sensor_names.end())
        throw BrokenInvariant("a quantity that no gate's efficiency corrects");
    return *found;
}

constexpr std::string_view seen_prefix = "seen_";
constexpr std::string_view corrected_prefix = "corrected_";

} // namespace

const QuantityRow& row_of(Quantity quantity) {
    return row_in(rows, quantity);
}

std::optional<Quantity> quantity_of(std::string_view key) {
    return value_named(rows, key);
}

std::string_view key_of(Quantity quantity) {
    return row_of(quantity).key;
}

std::string_view words_of(Quantity quantity) {
    return row_of(quantity).words;
}

bool is_placement(Quantity quantity) {
    return quantity == Quantity::offset_mm || quantity == Quantity::bias_mm ||
           quantity == Quantity::sd_mm || quantity == Quantity::p95_abs_mm ||
           quantity == Quantity::within_allowance;
}

Unit unit_of(Quantity quantity) {
    return row_of(quantity).unit;
}

std::vector<Quantity> limited_quantities(droplog::Mode mode) {
    std::vector<Quantity> out;
    for (const QuantityRow& row : rows)
        if (row.most_limit && row.modes.has(mode))
            out.push_back(row.value);
    return out;
}

std::string key_of(const Reported& what) {
    if (what.aspect == Aspect::measured)
        return std::string{key_of(what.quantity)};
    const auto prefix = what.aspect == Aspect::seen ? seen_prefix : corrected_prefix;
    return std::string{prefix} + std::string{sensor_name(what.quantity).key};
}

std::string words_of(const Reported& what) {
    if (what.aspect == Aspect::measured)
        return std::string{words_of(what.quantity)};
    const char* const how = what.aspect == Aspect::seen ? ", as seen" : ", corrected";
    return std::string{sensor_name(what.quantity).words} + how;
}

std::vector<std::string> reported_keys() {
    std::vector<std::string> keys;
    keys.reserve(rows.size() + 2 * sensor_names.size());
    for (const QuantityRow& row : rows)
        keys.emplace_back(row.key);
    for (const SensorName& one : sensor_names)
        for (const Aspect aspect : {Aspect::seen, Aspect::corrected})
            keys.push_back(key_of({one.value, aspect}));
    return keys;
}

std::optional<Reported> reported_as(std::string_view key) {
    for (const auto& [prefix, aspect] :
         {std::pair{seen_prefix, Aspect::seen}, std::pair{corrected_prefix, Aspect::corrected}})
        if (key.starts_with(prefix)) {
            const auto quantity = value_named(sensor_names, key.substr(prefix.size()));
            return quantity ? std::optional{Reported{*quantity, aspect}} : std::nullopt;
        }
    const auto quantity = quantity_of(key);
    return quantity ? std::optional{Reported{*quantity}} : std::nullopt;
}

} // namespace dropledger::measures
