#include "analysis/audit/doubt/doubtful_drops.hpp"

#include "analysis/audit/doubt/evidence_watch.hpp"
#include "analysis/measures/number_words.hpp"
#include "analysis/statistics/shares/proportion.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <vector>

namespace dropledger::audit {

namespace {

bool clearly_over(std::int64_t x, std::int64_t n, double share) {
    return n > 0 && x > 0 && statistics::clopper_pearson(x, n, Confidence{0.95}).low > share;
}

void add(AuditReport& report, Contradiction kind, const ChannelReport& channel, std::string what,
         std::string remedy) {
    report.contradictions.push_back({kind, channel.channel, std::move(what), std::move(remedy)});
}

// A tenth is twice as many as may miss by a usual limit; of a few steps, one more or less is nothing.
bool is_at_another_speed(const CommandedSteps& steps) {
    constexpr std::int64_t fewest = 10;
    return 2 * steps.other_speed > steps.count ||
           (steps.other_speed >= fewest && 10 * steps.other_speed > steps.count);
}

void add_order(const ChannelReport& channel, AuditReport& report) {
    const CommandedSteps& steps = channel.evidence.steps;
    const auto more_than = [&](std::int64_t share_of, std::int64_t of_steps) {
        return share_of * of_steps > steps.count;
    };
    constexpr std::int64_t hundredth = 100; // a step twice as long counts as a miss
    const auto order = [&](std::string what) {
        add(report, Contradiction::order_not_carried_out, channel, std::move(what),
            "state the order as it was given, or run again by the one that is stated");
    };
    if (steps.count > 0 && more_than(hundredth, steps.other_spacing))
        order(fmt::format(
            "{} of {} steps between drops of {} were commanded at another spacing than the one "
            "stated: {:.1f} mm on average for {:.1f} mm",
            grouped(steps.other_spacing), grouped(steps.count), unit_name(channel),
            static_cast<double>(steps.way_um) / static_cast<double>(steps.count) / 1000.0,
            static_cast<double>(report.setup.spacing_um.value_or(0)) / 1000.0));
    if (is_at_another_speed(steps))
        order(fmt::format(
            "{} of {} steps between drops of {} were commanded at another speed than the {:.3f} "
            "m/s stated: {:.3f} m/s on average",
            grouped(steps.other_speed), grouped(steps.count), unit_name(channel),
            static_cast<double>(report.setup.speed_um_s.value_or(0)) / 1e6,
            static_cast<double>(steps.way_um) / static_cast<double>(steps.duration_us)));
    if (hundredth * channel.evidence.other_count > channel.evidence.drops)
        order(
            fmt::format("{} of {} drops of {} were commanded to hold another number of seeds than "
                        "the log states",
                        grouped(channel.evidence.other_count), grouped(channel.evidence.drops),
                        unit_name(channel)));
}

// Seeds of one drop fall within a fraction of the spacing; vibration, dust and light strike
// anywhere. Where a seed comes late and counts as its neighbour's, that drop has a miss instead.
void add_far_multiples(const ChannelReport& channel, AuditReport& report) {
    const DropEvidence& seen = channel.evidence;
    if (channel.single() == nullptr || channel.gate_only_counts)
        return;
    constexpr double some = 0.02;
    if (clearly_over(seen.far_multiples, seen.drops, some) &&
        3 * seen.far_multiples > seen.multiples && seen.far_multiples > 2 * seen.misses)
        add(report, Contradiction::pulses_without_drop, channel,
            fmt::format("gate {} saw further pulses far from the seed in {} of {} drops of {}: "
                        "nothing says that they are seeds",
                        channel.gate, grouped(seen.far_multiples), grouped(seen.drops),
                        unit_name(channel)),
            "look for vibration, dust, stray light and a valve that leaks; calibrate the pulse "
            "classifier (calibrate classifier)");
}

// A seed takes most of a millisecond to pass the beam: two pulses so close are one seed's.
void add_close_multiples(const ChannelReport& channel, AuditReport& report) {
    const DropEvidence& seen = channel.evidence;
    constexpr double some = 0.02;
    if (channel.single() != nullptr && !channel.gate_only_counts &&
        clearly_over(seen.close_multiples, seen.drops, some) &&
        2 * seen.close_multiples > seen.multiples)
        add(report, Contradiction::pulses_without_drop, channel,
            fmt::format(
                "gate {} saw two pulses within a millisecond in {} of {} drops of {}: a seed "
                "seen twice",
                channel.gate, grouped(seen.close_multiples), grouped(seen.drops),
                unit_name(channel)),
            fmt::format("look at gate {}'s contacts and threshold, and at its dead time",
                        channel.gate));
}

void add_at_opening(const ChannelReport& channel, AuditReport& report) {
    const DropEvidence& seen = channel.evidence;
    constexpr std::int64_t fewest = 50;
    if (seen.at_opening >= fewest && 2 * seen.at_opening > seen.drops)
        add(report, Contradiction::pulses_without_drop, channel,
            fmt::format(
                "gate {} saw a pulse within a millisecond after the valve opened in {} of {} "
                "drops of {}: it hears the valve",
                channel.gate, grouped(seen.at_opening), grouped(seen.drops), unit_name(channel)),
            fmt::format("keep gate {}'s cable away from the valve's, and screen it", channel.gate));
}

// The other gate saw a seed in those drops, and one only: it may let two pass as one now and then,
// but not nearly always.
void add_split(const ChannelReport& channel, AuditReport& report) {
    const auto& gates = channel.gates;
    constexpr double some = 0.02;
    if (!gates || !clearly_over(gates->split, gates->drops, some) ||
        gates->split <= 4 * gates->confirmed)
        return;
    add(report, Contradiction::pulses_without_drop, channel,
        fmt::format("gate {} saw several seeds in {} drops of {} where gate {} saw one; in {} both "
                    "saw several",
                    channel.gate, grouped(gates->split), unit_name(channel), gates->other_gate,
                    grouped(gates->confirmed)),
        fmt::format("count by hand what falls: gate {} may see a seed twice (bounce, vibration, "
                    "contact), or gate {} two as one",
                    channel.gate, gates->other_gate));
}

// The places fit, a spacing or more away from where the valve let them go.
void add_out_of_step(const ChannelReport& channel, AuditReport& report) {
    const DropEvidence& seen = channel.evidence;
    const std::int64_t with_seed = seen.drops - seen.misses;
    if (channel.gate_only_counts || 2 * (seen.before_opening + seen.behind_the_next) <= with_seed)
        return;
    const bool before = seen.before_opening > seen.behind_the_next;
    add(report, Contradiction::drops_out_of_step, channel,
        fmt::format("the seeds that lie where drops of {} were commanded came {} in {} of {} "
                    "drops: the unit sows a spacing or more beside its places, or the places of "
                    "its drops are wrong",
                    unit_name(channel),
                    before ? "before the valve opened for them"
                           : "after the valve had opened for the next one",
                    grouped(before ? seen.before_opening : seen.behind_the_next),
                    grouped(with_seed)),
        "check the lead and the commanded places, and measure by rule where a seed of drop 0 lies");
}

void add_silence(const ChannelReport& channel, AuditReport& report) {
    const DropEvidence& seen = channel.evidence;
    if (seen.longest_silence < long_silence || channel.gates || channel.pulses == 0)
        return;
    add(report, Contradiction::gate_fell_silent, channel,
        fmt::format("gate {} of {} saw nothing in {} drops on end, and no other gate tells whether "
                    "seed fell",
                    channel.gate, unit_name(channel), grouped(seen.longest_silence)),
        "look at the hopper and at the gate's cable and beam, then run again");
}

// Pulses are kept of the first few thousand only; about one is a drop's.
std::int64_t drops_watched(const DropEvidence& seen) {
    return std::min(seen.drops, static_cast<std::int64_t>(seen.landed_us.size()));
}

struct Neighbour {
    const ChannelReport* channel = nullptr; // none: nothing of any was heard
    Overheard overheard;
};

Neighbour loudest_beside(const AuditReport& report, const ChannelReport& channel) {
    Neighbour loudest;
    for (const ChannelReport& other : report.channels) {
        if (&other == &channel)
            continue;
        const Overheard heard = overheard(channel.evidence, other.evidence);
        if (heard.heard > loudest.overheard.heard)
            loudest = {&other, heard};
    }
    return loudest;
}

} // namespace

std::string unit_name(const ChannelReport& channel) {
    return channel.unit.empty() ? fmt::format("channel {}", channel.channel)
                                : "unit " + channel.unit;
}

void add_doubtful_drops(const ChannelReport& channel, AuditReport& report) {
    if (channel.drops() == nullptr)
        return;
    add_order(channel, report);
    add_far_multiples(channel, report);
    add_close_multiples(channel, report);
    add_at_opening(channel, report);
    add_split(channel, report);
    add_out_of_step(channel, report);
    add_silence(channel, report);
}

void add_other_list(const measures::SpacingResult& spacing, AuditReport& report) {
    constexpr std::int64_t fewest = 20;
    const std::int64_t n = spacing.counts.spacings();
    if (n < fewest || 10 * spacing.counts.classes[1] >= n || !spacing.sd_mm ||
        2.0 * spacing.sd_mm->value > spacing.mean_mm->value)
        return;
    report.contradictions.push_back(
        {Contradiction::order_not_carried_out, std::nullopt,
         fmt::format(
             "the list's spacings are alike, {:.1f} mm on average, and {} of {} are near the "
             "theoretical spacing of {:.1f} mm",
             spacing.mean_mm->value, grouped(spacing.counts.classes[1]), grouped(n),
             static_cast<double>(spacing.reference_um) / 1000.0),
         "check the list's unit (mm) and the theoretical spacing"});
}

void add_overheard(AuditReport& report) {
    constexpr double some = 0.02;
    constexpr double beyond_chance = 3.0;
    for (const ChannelReport& channel : report.channels) {
        const std::int64_t watched = drops_watched(channel.evidence);
        const auto in_excess = static_cast<std::int64_t>(channel.evidence.excess.size());
        if (!clearly_over(std::min(in_excess, watched), watched,
                          some)) // no more of them can be another's
            continue;
        const auto [from, most] = loudest_beside(report, channel);
        if (from == nullptr || 2 * most.heard <= most.drops ||
            !clearly_over(most.heard, watched, some) ||
            static_cast<double>(most.heard) <=
                beyond_chance * most.by_chance * static_cast<double>(most.drops))
            continue;
        add(report, Contradiction::pulses_without_drop, channel,
            fmt::format("in {} of {} drops of {} that show a seed too many a pulse came at one "
                        "time with a seed of {}: gate {} seems to hear the other's",
                        grouped(most.heard), grouped(most.drops), unit_name(channel),
                        unit_name(*from), channel.gate),
            "part the gates' cables and check their screens and ground; then run again");
    }
}

void add_alike(AuditReport& report) {
    constexpr std::size_t fewest = 50;
    const auto& channels = report.channels;
    std::vector<bool> named(
        channels.size()); // each is told of once, with the first that it is like
    for (std::size_t i = 0; i < channels.size(); ++i)
        for (std::size_t j = i + 1; j < channels.size(); ++j) {
            const DropEvidence& a = channels[i].evidence;
            const DropEvidence& b = channels[j].evidence;
            const std::size_t fewer = std::min(a.landed_us.size(), b.landed_us.size());
            if (fewer < fewest || named[j])
                continue;
            const Coincidences same = coincidences(a, b);
            named[j] = 2 * same.seeds > static_cast<std::int64_t>(fewer);
            if (named[j])
                report.contradictions.push_back(
                    {Contradiction::channels_alike, std::nullopt,
                     fmt::format("{} of the first {} seeds of {} and of {} came {} µs apart, each "
                                 "time the same",
                                 grouped(same.seeds), grouped(static_cast<std::int64_t>(fewer)),
                                 unit_name(channels[i]), unit_name(channels[j]),
                                 std::abs(same.lag_us)),
                     "check the cables: one gate seems to speak on both channels"});
        }
}

} // namespace dropledger::audit
