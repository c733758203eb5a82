#include "analysis/audit/doubt/doubtful_line.hpp"

#include "analysis/audit/doubt/doubtful_drops.hpp"
#include "analysis/measures/number_words.hpp"
#include "analysis/statistics/shares/proportion.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::audit {

namespace {

// The way of fifty seeds at the rate asked for; where none is, two metres.
std::int64_t long_way_um(const ledger::RunSetup& setup) {
    constexpr std::int64_t otherwise_um = 2'000'000;
    const std::int64_t rate = setup.rate_per_m_milli.value_or(0);
    return rate > 0 ? long_silence * (1'000'000'000 / rate) : otherwise_um;
}

double metres(std::int64_t um) {
    return static_cast<double>(um) / 1e6;
}

void add_silent_way(const ChannelReport& channel, const measures::LineResult& line,
                    AuditReport& report) {
    const std::int64_t silent_um = std::max(line.longest_gap_um, line.unsown_um);
    if (channel.gates || silent_um < long_way_um(report.setup))
        return;
    report.contradictions.push_back(
        {Contradiction::gate_fell_silent, channel.channel,
         fmt::format("gate {} of {} saw nothing on {:.1f} m of the {:.1f} m travelled, and no "
                     "other gate tells whether seed fell",
                     channel.gate, unit_name(channel), metres(silent_um),
                     metres(report.travelled.distance_um)),
         "look at the hopper and at the gate's cable and beam, then run again"});
}

// A random line has some seeds within a millisecond by itself.
void add_close_seeds(const ChannelReport& channel, AuditReport& report) {
    const LineEvidence& seen = channel.evidence.line;
    constexpr double some = 0.02;
    if (seen.took_us <= 0)
        return;
    const double per_ms =
        1000.0 * static_cast<double>(seen.landings) / static_cast<double>(seen.took_us);
    const double by_chance = -std::expm1(-per_ms);
    const double share =
        statistics::clopper_pearson(seen.close, seen.landings, Confidence{0.95}).low;
    if (share <= std::max(some, 3.0 * by_chance))
        return;
    report.contradictions.push_back(
        {Contradiction::pulses_without_drop, channel.channel,
         fmt::format("{} of {} pulses of gate {} of {} came within a millisecond of another: a "
                     "seed seen twice",
                     grouped(seen.close), grouped(seen.landings), channel.gate, unit_name(channel)),
         fmt::format("look at gate {}'s contacts and threshold, and at its dead time",
                     channel.gate)});
}

void add_other_speed(const ChannelReport& channel, AuditReport& report) {
    constexpr std::int64_t fewest = 20;
    const LineEvidence& seen = channel.evidence.line;
    const auto stated_um_s = static_cast<double>(report.setup.speed_um_s.value_or(0));
    if (seen.took_us <= 0 || seen.landings < fewest || stated_um_s <= 0.0)
        return;
    const double speed_um_s =
        1e6 * static_cast<double>(seen.way_um) / static_cast<double>(seen.took_us);
    if (4.0 * std::abs(speed_um_s - stated_um_s) <= stated_um_s)
        return;
    report.contradictions.push_back(
        {Contradiction::order_not_carried_out, channel.channel,
         fmt::format("the line of {} was travelled at {:.3f} m/s, and the speed stated is "
                     "{:.3f} m/s",
                     unit_name(channel), speed_um_s / 1e6, stated_um_s / 1e6),
         "check the encoder's scale; state the order as it was given, or run again by the one "
         "that is stated"});
}

// Seeds; nothing where the log asks for no number.
std::optional<double> asked_for(const ChannelReport& channel, const AuditReport& report) {
    if (channel.portions() != nullptr)
        return static_cast<double>(channel.evidence.asked);
    const measures::LineResult* const line = channel.line();
    if (line == nullptr || !report.setup.rate_per_m_milli)
        return std::nullopt;
    return metres(line->segments * line->segment_um) *
           static_cast<double>(*report.setup.rate_per_m_milli) / 1000.0;
}

} // namespace

std::int64_t unsown_um(const ledger::RunSetup& setup, const ledger::TravelExtent& travelled,
                       const measures::LineTally& line) {
    constexpr double ends_s = 2.0;
    if (line.seeds() == 0 || travelled.duration_us <= 0)
        return 0;
    const double speed_um_s = 1e6 * static_cast<double>(travelled.distance_um) /
                              static_cast<double>(travelled.duration_us);
    const std::int64_t beyond_um = travelled.distance_um - line.span_um() -
                                   static_cast<std::int64_t>(ends_s * std::abs(speed_um_s));
    return beyond_um >= long_way_um(setup) ? beyond_um : 0;
}

void add_doubtful_line(const ChannelReport& channel, AuditReport& report) {
    const measures::LineResult* const line = channel.line();
    if (line == nullptr)
        return;
    add_silent_way(channel, *line, report);
    add_close_seeds(channel, report);
    add_other_speed(channel, report);
}

void add_more_than_asked(const ChannelReport& channel, AuditReport& report) {
    const auto& gates = channel.gates;
    const auto asked = asked_for(channel, report);
    if (!gates || !asked)
        return;
    constexpr double clearly_more = 1.05;
    const auto judging = static_cast<double>(gates->judging_seeds);
    const auto other = static_cast<double>(gates->other_seeds);
    if (judging <= clearly_more * std::max(*asked, other) || other > clearly_more * *asked)
        return;
    report.contradictions.push_back(
        {Contradiction::pulses_without_drop, channel.channel,
         fmt::format("gate {} of {} saw {} seeds, gate {} saw {}, and {:.0f} were asked for",
                     channel.gate, unit_name(channel), grouped(gates->judging_seeds),
                     gates->other_gate, grouped(gates->other_seeds), *asked),
         fmt::format("count by hand what falls: gate {} may see a seed twice (bounce, vibration, "
                     "contact), or gate {} overlook some",
                     channel.gate, gates->other_gate)});
}

} // namespace dropledger::audit
