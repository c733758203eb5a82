#include "calibration/flight/strip_match.hpp"

#include "analysis/ledger/registration.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

namespace dropledger::calibration {

namespace {

using ByDrop = std::map<std::int64_t, std::vector<StripPulse>>;

std::int64_t spacing_um(const std::vector<StripDrop>& sorted) {
    return (sorted.back().position_um - sorted.front().position_um) /
           static_cast<std::int64_t>(sorted.size() - 1);
}

std::int64_t place_um(const StripPulse& pulse, double flight_us) {
    return std::llround(pulse.position_mm * 1000.0 + pulse.speed_mps * flight_us);
}

std::int64_t offset_um(const std::vector<StripPulse>& pulses, const std::vector<StripDrop>& sorted,
                       double flight_us) {
    std::vector<std::int64_t> landings;
    std::vector<std::int64_t> places;
    landings.reserve(pulses.size());
    places.reserve(sorted.size());
    for (const StripPulse& pulse : pulses)
        landings.push_back(place_um(pulse, flight_us));
    for (const StripDrop& drop : sorted)
        places.push_back(drop.position_um);
    std::sort(landings.begin(), landings.end());
    return ledger::registration(ledger::residuals_um(landings, places, spacing_um(sorted)),
                                spacing_um(sorted))
        .offset_um;
}

// Pulses by the commanded drop that they land at.
ByDrop by_drop(const std::vector<StripPulse>& pulses, std::vector<StripDrop> drops,
               double flight_us) {
    ByDrop out;
    std::sort(drops.begin(), drops.end(),
              [](const StripDrop& a, const StripDrop& b) { return a.position_um < b.position_um; });
    if (drops.size() < 2 || spacing_um(drops) <= 0)
        return out;
    const std::int64_t offset = offset_um(pulses, drops, flight_us);
    for (const StripPulse& pulse : pulses) {
        const std::int64_t at = place_um(pulse, flight_us) - offset;
        const auto off = [&](const StripDrop& drop) { return std::llabs(drop.position_um - at); };
        const auto nearest = std::min_element(
            drops.begin(), drops.end(),
            [&](const StripDrop& a, const StripDrop& b) { return off(a) < off(b); });
        if (2 * off(*nearest) <= spacing_um(drops))
            out[nearest->index].push_back(pulse);
    }
    return out;
}

struct Shift {
    double mm = 0.0;
    std::size_t pairs = 0;
};

std::vector<double> differences(const std::vector<StripPulse>& pulses,
                                const std::vector<RuleReading>& readings) {
    std::vector<double> out;
    out.reserve(pulses.size() * readings.size());
    for (const StripPulse& pulse : pulses)
        for (const RuleReading& reading : readings)
            out.push_back(reading.landing_mm - pulse.position_mm);
    std::sort(out.begin(), out.end());
    return out;
}

// Where differences crowd, the fullest first, none near a fuller one.
std::vector<Shift> crowds(const std::vector<double>& sorted, double reach_mm) {
    std::vector<Shift> all;
    for (std::size_t low = 0, high = 0; low < sorted.size(); ++low) {
        while (high < sorted.size() && sorted[high] <= sorted[low] + 2.0 * reach_mm)
            ++high;
        all.push_back({sorted[low + (high - low) / 2], high - low});
    }
    std::stable_sort(all.begin(), all.end(),
                     [](const Shift& a, const Shift& b) { return a.pairs > b.pairs; });
    constexpr std::size_t enough = 50;
    std::vector<Shift> out;
    for (const Shift& one : all) {
        const bool apart = std::none_of(out.begin(), out.end(), [&](const Shift& known) {
            return std::fabs(known.mm - one.mm) <= 2.0 * reach_mm;
        });
        if (apart && out.size() < enough)
            out.push_back(one);
    }
    return out;
}

// The fullest crowd, or of those about as full the nearest to what is expected. A row of even
// spacings fits nearly as well one drop further on: one pair less in ten or more.
std::optional<double> right_shift(const std::vector<Shift>& crowds,
                                  std::optional<double> expected_mm) {
    constexpr double about_as_full = 0.85;
    const auto last_full = std::find_if(crowds.begin(), crowds.end(), [&](const Shift& one) {
        return static_cast<double>(one.pairs) <
               about_as_full * static_cast<double>(crowds.front().pairs);
    });
    if (last_full - crowds.begin() == 1)
        return crowds.front().mm;
    if (crowds.empty() || !expected_mm)
        return std::nullopt;
    return std::min_element(crowds.begin(), last_full,
                            [&](const Shift& a, const Shift& b) {
                                return std::fabs(a.mm - *expected_mm) <
                                       std::fabs(b.mm - *expected_mm);
                            })
        ->mm;
}

// Landings within reach of a right pair: a quarter of their usual distance, and no more than seeds
// scatter.
double reach_mm(const std::vector<RuleReading>& readings) {
    constexpr double farthest_mm = 12.0;
    std::vector<double> places;
    places.reserve(readings.size());
    for (const RuleReading& reading : readings)
        places.push_back(reading.landing_mm);
    std::sort(places.begin(), places.end());
    std::vector<double> gaps;
    for (std::size_t i = 1; i < places.size(); ++i)
        gaps.push_back(places[i] - places[i - 1]);
    std::sort(gaps.begin(), gaps.end());
    return gaps.empty() ? farthest_mm : std::clamp(gaps[gaps.size() / 2] / 4.0, 1.0, farthest_mm);
}

// Each pulse with the nearest landing that is left, in order of travel.
std::vector<Landing> paired(const std::vector<StripPulse>& pulses, std::vector<double> landings,
                            double shift_mm, double reach) {
    std::vector<Landing> out;
    for (const StripPulse& pulse : pulses) {
        const auto off = [&](double landing) {
            return std::fabs(landing - pulse.position_mm - shift_mm);
        };
        const auto nearest = std::min_element(landings.begin(), landings.end(),
                                              [&](double a, double b) { return off(a) < off(b); });
        if (nearest == landings.end() || off(*nearest) > reach)
            continue;
        out.push_back({pulse.position_mm, pulse.speed_mps, *nearest});
        landings.erase(nearest);
    }
    return out;
}

} // namespace

StripPairs pairs_by_number(const std::vector<StripPulse>& pulses, std::vector<StripDrop> drops,
                           const std::vector<RuleReading>& readings, double flight_us) {
    const ByDrop seen = by_drop(pulses, std::move(drops), flight_us);
    std::map<std::int64_t, std::vector<double>> landings;
    for (const RuleReading& reading : readings)
        landings[*reading.drop].push_back(reading.landing_mm);
    StripPairs out;
    for (const auto& [drop, places] : landings) {
        const auto found = seen.find(drop);
        if (found == seen.end())
            continue;
        const StripPulse& pulse = found->second.front();
        if (places.size() == 1 && found->second.size() == 1)
            out.matched.push_back({pulse.position_mm, pulse.speed_mps, places.front()});
        else
            out.several += static_cast<std::int64_t>(places.size());
    }
    return out;
}

Result<StripPairs> pairs_by_place(const std::vector<StripPulse>& pulses,
                                  const std::vector<RuleReading>& readings,
                                  std::optional<double> expected_mm, const std::string& file) {
    constexpr std::size_t most = 5'000'000;
    if (pulses.size() * readings.size() > most)
        return input_error(file, "too many pulses and landings to find out which belong together",
                           "give each landing its drop, in the column drop");
    const double reach = reach_mm(readings);
    const auto shift = right_shift(crowds(differences(pulses, readings), reach), expected_mm);
    if (!shift)
        return input_error(
            file, "the landings fit the pulses one drop further on about as well",
            "give each landing its drop, in the column drop, or `rule_zero_mm` for a log "
            "that states its flight "
            "time");
    std::vector<double> landings;
    landings.reserve(readings.size());
    for (const RuleReading& reading : readings)
        landings.push_back(reading.landing_mm);
    return StripPairs{paired(pulses, std::move(landings), *shift, 2.0 * reach), 0};
}

} // namespace dropledger::calibration
