#include "calibration/efficiency/gate_matching.hpp"

#include "analysis/droplog/reader.hpp"
#include "analysis/droplog/settings.hpp"
#include "calibration/efficiency/counting_loss.hpp"
#include "calibration/efficiency/steadiness.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>

namespace dropledger::calibration {

namespace {

constexpr std::int64_t farthest_us =
    1'000'000; // two gates of one channel are not further apart in time
constexpr std::int64_t bin_us = 500;
constexpr std::int64_t least_window_us = 1000;
constexpr std::int64_t usual_greatest_window_us = 40'000;

struct Collected {
    std::vector<GateTimes> boots;
    std::array<PulseKinds, 2> gates;
    Classifiers classifiers;
    std::optional<Error> refused; // its classifiers
};

// Each seed of a pulse is a time of its own.
class PulseCollector final : public droplog::Consumer {
public:
    explicit PulseCollector(const ClassifiersFor& classifiers) : classifiers_(&classifiers) {}

    void begin(const droplog::Header& header) override { header_ = header; }
    void reboot() override { ++boot_; }
    void take(const droplog::Event& event) override {
        const droplog::Record& record = event.record;
        if (record.name == droplog::LineName::drop)
            times(of(record.channel)).drops_us.push_back(event.time_us);
        if (record.name == droplog::LineName::pulse && (record.gate == 0 || record.gate == 1))
            take_pulse(of(record.channel), event);
    }
    [[nodiscard]] const droplog::Header& header() const { return header_; }
    [[nodiscard]] std::map<int, Collected>& channels() { return channels_; }

private:
    Collected& of(int channel) {
        const auto [found, is_new] = channels_.try_emplace(channel);
        if (is_new && *classifiers_) {
            auto classifiers = (*classifiers_)(header_, channel);
            if (classifiers)
                found->second.classifiers = *std::move(classifiers);
            else
                found->second.refused = classifiers.error();
        }
        return found->second;
    }

    GateTimes& times(Collected& channel) const {
        channel.boots.resize(boot_ + 1);
        return channel.boots.back();
    }

    void take_pulse(Collected& channel, const droplog::Event& event) const {
        const droplog::Record& record = event.record;
        PulseKinds& kinds = channel.gates.at(static_cast<std::size_t>(record.gate));
        const auto classifier = channel.classifiers.find(record.gate);
        kinds.classified = classifier != channel.classifiers.end();
        const std::uint32_t seeds =
            kinds.classified ? classifier->second({record.width_us, record.depth_milli}) : 1;
        ++kinds.pulses;
        kinds.dust += seeds == 0 ? 1 : 0;
        kinds.several += seeds > 1 ? 1 : 0;
        GateTimes& boot = times(channel);
        auto& into = record.gate == 0 ? boot.first_us : boot.second_us;
        into.insert(into.end(), seeds, event.time_us);
    }

    const ClassifiersFor* classifiers_;
    droplog::Header header_;
    std::size_t boot_ = 0;
    std::map<int, Collected> channels_;
};

bool both_saw(const std::vector<GateTimes>& boots) {
    const auto some = [&](auto member) {
        return std::any_of(boots.begin(), boots.end(),
                           [&](const GateTimes& boot) { return !(boot.*member).empty(); });
    };
    return some(&GateTimes::first_us) && some(&GateTimes::second_us);
}

Result<int> choose(const std::map<int, Collected>& channels, const std::string& file,
                   std::optional<int> asked) {
    std::vector<int> candidates;
    for (const auto& [number, found] : channels)
        if ((!asked || *asked == number) && both_saw(found.boots))
            candidates.push_back(number);
    if (candidates.empty())
        return input_error(file, "no channel whose gates 0 and 1 both saw seeds",
                           "two observers need pulses of both gates");
    if (candidates.size() > 1)
        return usage_error(
            file, fmt::format("channels {} all have two gates", fmt::join(candidates, ", ")),
            "say which with `channel`");
    return candidates.front();
}

// The unit's own gate, above the valve.
bool is_above(const droplog::Header& header, int channel) {
    const std::string* const place = header.find(channel, "gate0_place");
    return place != nullptr && droplog::gate_place_of(*place) == droplog::GatePlace::above;
}

std::optional<std::int64_t> expected_flight(const droplog::Header& header,
                                            const ChannelPulses& pulses) {
    const auto number = [&](const char* key) { return header.number(pulses.channel, key); };
    const auto second = number("gate1_fall_us");
    const auto before = pulses.first_waits ? number("lead_us") : number("gate0_fall_us");
    const bool through_open_valve = !pulses.first_waits && is_above(header, pulses.channel);
    if (!second || !before || through_open_valve)
        return std::nullopt;
    return *before - *second;
}

// A seed that waits at the valve starts anew when it opens.
std::vector<std::int64_t> starts(const GateTimes& boot, bool waits) {
    if (!waits)
        return boot.first_us;
    std::vector<std::int64_t> out;
    for (const std::int64_t time : boot.first_us)
        if (const auto opening = std::upper_bound(boot.drops_us.begin(), boot.drops_us.end(), time);
            opening != boot.drops_us.end())
            out.push_back(*opening);
    return out;
}

struct Stretch {
    std::vector<std::int64_t> first;
    std::vector<std::int64_t> second;
    std::vector<std::int64_t> openings;
};

std::vector<Stretch> stretches(const ChannelPulses& pulses) {
    std::vector<Stretch> out;
    for (GateTimes boot : pulses.boots) {
        std::sort(boot.drops_us.begin(),
                  boot.drops_us.end()); // lines leave the controller up to 50 ms late
        Stretch stretch{starts(boot, pulses.first_waits), boot.second_us, {}};
        std::sort(stretch.first.begin(), stretch.first.end());
        std::sort(stretch.second.begin(), stretch.second.end());
        stretch.openings = std::move(boot.drops_us);
        out.push_back(std::move(stretch));
    }
    return out;
}

struct Range {
    std::int64_t low = 0;
    std::int64_t high = 0;
};

std::vector<std::int64_t> differences(const std::vector<Stretch>& all, Range range) {
    constexpr std::size_t enough = 2'000'000;
    std::vector<std::int64_t> out;
    for (const Stretch& stretch : all)
        for (const std::int64_t start : stretch.first) {
            auto at =
                std::lower_bound(stretch.second.begin(), stretch.second.end(), start + range.low);
            for (; at != stretch.second.end() && *at <= start + range.high && out.size() < enough;
                 ++at)
                out.push_back(*at - start);
        }
    std::sort(out.begin(), out.end());
    return out;
}

std::int64_t middle(const std::vector<std::int64_t>& sorted) {
    return sorted[sorted.size() / 2];
}

// The fullest span of a few milliseconds; of equals the one nearest to 0, for seeds that follow
// each other evenly crowd at every multiple of their distance.
std::int64_t crowd(const std::vector<std::int64_t>& sorted) {
    constexpr std::int64_t span_us = 6 * bin_us;
    constexpr double about_as_full = 0.9;
    std::size_t fullest = 0;
    std::vector<std::pair<std::size_t, std::int64_t>> spans;
    for (std::size_t low = 0, high = 0; low < sorted.size(); ++low) {
        while (high < sorted.size() && sorted[high] <= sorted[low] + span_us)
            ++high;
        spans.emplace_back(high - low, sorted[low + (high - low) / 2]);
        fullest = std::max(fullest, high - low);
    }
    std::optional<std::int64_t> best;
    std::size_t best_count = 0;
    for (const auto& [count, centre] : spans) {
        if (static_cast<double>(count) < about_as_full * static_cast<double>(fullest))
            continue;
        const bool same_crowd = best && std::llabs(centre - *best) <= span_us;
        if (!best || (same_crowd ? count > best_count : std::llabs(centre) < std::llabs(*best))) {
            best = centre;
            best_count = count;
        }
    }
    return *best; // there is a fullest one
}

std::vector<std::int64_t> near(const std::vector<std::int64_t>& sorted, std::int64_t centre,
                               std::int64_t reach) {
    const auto low = std::lower_bound(sorted.begin(), sorted.end(), centre - reach);
    return {low, std::upper_bound(low, sorted.end(), centre + reach)};
}

double scatter_about(const std::vector<std::int64_t>& sorted, std::int64_t centre) {
    std::vector<std::int64_t> off;
    off.reserve(sorted.size());
    for (const std::int64_t value : sorted)
        off.push_back(std::llabs(value - centre));
    std::sort(off.begin(), off.end());
    constexpr double of_normal = 1.4826; // standard deviation over median absolute deviation
    return of_normal * static_cast<double>(middle(off));
}

struct Matched {
    std::vector<std::int64_t> apart_us; // of each pair
    SeenByOther first;
    SeenByOther second;
};

// In time order, each pulse at most once: the greatest number of pairs that fit.
void add_pairs(const Stretch& stretch, const Matching& at, Matched& out) {
    std::size_t first = 0;
    std::size_t second = 0;
    const std::size_t firsts = out.first.seen.size();
    const std::size_t seconds = out.second.seen.size();
    out.first.times_us.insert(out.first.times_us.end(), stretch.first.begin(), stretch.first.end());
    out.second.times_us.insert(out.second.times_us.end(), stretch.second.begin(),
                               stretch.second.end());
    out.first.seen.resize(firsts + stretch.first.size(), false);
    out.second.seen.resize(seconds + stretch.second.size(), false);
    while (first < stretch.first.size() && second < stretch.second.size()) {
        const std::int64_t off = stretch.second[second] - stretch.first[first] - at.flight_us;
        if (std::llabs(off) <= at.window_us) {
            out.apart_us.push_back(off + at.flight_us);
            out.first.seen[firsts + first] = out.second.seen[seconds + second] = true;
        }
        first += off >= -at.window_us ? 1 : 0;
        second += off <= at.window_us ? 1 : 0;
    }
}

double span_us(const std::vector<Stretch>& all) {
    double total = 0.0;
    for (const Stretch& stretch : all)
        if (stretch.second.size() > 1)
            total += static_cast<double>(stretch.second.back() - stretch.second.front());
    return total;
}

// What waits at the valve belongs to its opening, however much its way scatters: up to half-way to
// the next one, less a little.
std::int64_t greatest_window_us(const std::vector<Stretch>& all, bool waits) {
    constexpr double short_of_half = 0.45;
    std::vector<std::int64_t> steps;
    for (const Stretch& stretch : all)
        for (std::size_t i = 1; i < stretch.openings.size(); ++i)
            steps.push_back(stretch.openings[i] - stretch.openings[i - 1]);
    if (!waits || steps.empty())
        return usual_greatest_window_us;
    std::sort(steps.begin(), steps.end());
    return std::max(usual_greatest_window_us,
                    static_cast<std::int64_t>(short_of_half * static_cast<double>(middle(steps))));
}

// Pulses of gate 1 that came when no seed of any opening can come.
Untimely untimely_pulses(const std::vector<Stretch>& all, const Matching& at) {
    Untimely found;
    for (const Stretch& stretch : all)
        for (const std::int64_t time : stretch.second) {
            const std::int64_t left = time - at.flight_us;
            const auto opening = std::lower_bound(stretch.openings.begin(), stretch.openings.end(),
                                                  left - at.window_us);
            ++found.pulses;
            found.at_no_seed +=
                opening == stretch.openings.end() || *opening > left + at.window_us ? 1 : 0;
        }
    return found;
}

void count(const std::vector<Stretch>& all, std::int64_t drops, bool waits, Matching& out) {
    Matched found;
    for (const Stretch& stretch : all)
        add_pairs(stretch, out, found);
    std::vector<std::int64_t>& matched = found.apart_us;
    out.seen = {.both = static_cast<std::int64_t>(matched.size()),
                .first = static_cast<std::int64_t>(found.first.seen.size()),
                .second = static_cast<std::int64_t>(found.second.seen.size())};
    out.doubts = {doubt_about_efficiency(found.second, {0, out.seen.first, drops}).value_or(""),
                  doubt_about_efficiency(found.first, {1, out.seen.second, drops}).value_or("")};
    if (auto doubt = waits ? doubt_of_timing(untimely_pulses(all, out)) : std::nullopt;
        doubt && out.doubts[0].empty())
        out.doubts[0] = *std::move(doubt);
    if (matched.empty())
        return;
    std::sort(matched.begin(), matched.end());
    out.flight_us = middle(matched);
    constexpr double of_median =
        1.2533; // standard error of a median over that of a mean, normal scatter
    out.flight_u_us = of_median * out.scatter_us / std::sqrt(static_cast<double>(matched.size()));
    const double span = span_us(all);
    const auto alone = [&](std::int64_t seen) { return static_cast<double>(seen - out.seen.both); };
    if (span > 0.0)
        out.by_chance = alone(out.seen.first) * alone(out.seen.second) *
                        std::min(1.0, 2.0 * static_cast<double>(out.window_us) / span);
}

} // namespace

Result<ChannelPulses> pulses_of(const OpenBytes& open, const std::string& file,
                                std::optional<int> channel, const ClassifiersFor& classifiers) {
    auto source = open();
    if (!source)
        return source.error();
    PulseCollector collector(classifiers);
    if (const auto reading = droplog::read_log(**source, file, collector); !reading)
        return reading.error();
    const auto chosen = choose(collector.channels(), file, channel);
    if (!chosen)
        return chosen.error();
    const droplog::Header& header = collector.header();
    Collected& found = collector.channels().at(*chosen);
    if (found.refused)
        return *found.refused;
    ChannelPulses out;
    out.channel = *chosen;
    out.gates = found.gates;
    for (std::size_t gate = 0; gate < out.gates.size(); ++gate)
        out.gates.at(gate).dead_us = header.number(*chosen, fmt::format("gate{}_dead_us", gate));
    if (const std::string* const unit = header.find(*chosen, "unit"))
        out.unit = *unit;
    const std::string* const stated = header.find("mode");
    const auto mode = stated == nullptr ? std::nullopt : droplog::mode_of(*stated);
    out.first_waits = is_above(header, *chosen) && mode != droplog::Mode::line;
    if (out.first_waits && mode == droplog::Mode::portion)
        return input_error(
            file,
            "seeds of a portion wait together at the valve: the gate above it cannot tell "
            "them apart",
            "run single seeds, or a line, to compare the gates");
    out.expected_us = expected_flight(header, out);
    out.boots = std::move(found.boots);
    return out;
}

std::optional<double> ChannelPulses::lost_to_dead_time(std::size_t gate) const {
    const PulseKinds& kinds = gates.at(gate);
    double span = 0.0;
    for (const GateTimes& boot : boots) {
        const auto& times = gate == 0 ? boot.first_us : boot.second_us;
        if (times.size() > 1) {
            const auto [first, last] = std::minmax_element(times.begin(), times.end());
            span += static_cast<double>(*last - *first) / 1e6;
        }
    }
    if (!kinds.dead_us || !(span > 0.0))
        return std::nullopt;
    const double counted = static_cast<double>(kinds.pulses) / span;
    const auto fell = rate_not_extending(counted, static_cast<double>(*kinds.dead_us) / 1e6);
    return fell ? std::optional{1.0 - counted / *fell} : std::nullopt;
}

Result<Matching> match(const ChannelPulses& pulses) {
    const std::vector<Stretch> all = stretches(pulses);
    const std::int64_t greatest_us = greatest_window_us(all, pulses.first_waits);
    const std::int64_t reach_us = std::max<std::int64_t>(60'000, greatest_us); // of the settings
    std::vector<std::int64_t> candidates;
    if (pulses.expected_us)
        candidates =
            differences(all, {*pulses.expected_us - reach_us, *pulses.expected_us + reach_us});
    if (candidates.size() < 3)
        candidates = differences(all, {pulses.first_waits ? 0 : -farthest_us, farthest_us});
    if (candidates.empty())
        return input_error(fmt::format("channel {}", pulses.channel),
                           "no pulse of one gate comes within a second of the other's",
                           "check that both gates watch the same seeds");
    Matching out;
    out.flight_us = crowd(candidates);
    const auto crowded = near(candidates, out.flight_us, greatest_us / 2);
    out.flight_us = middle(crowded);
    out.scatter_us = scatter_about(crowded, out.flight_us);
    constexpr double scatters = 5.0;
    out.window_us = std::clamp(static_cast<std::int64_t>(std::llround(scatters * out.scatter_us)),
                               least_window_us, greatest_us);
    std::int64_t drops = 0;
    for (const GateTimes& boot : pulses.boots)
        drops += static_cast<std::int64_t>(boot.drops_us.size());
    count(all, drops, pulses.first_waits, out);
    return out;
}

} // namespace dropledger::calibration
