#include "analysis/audit/doubt/doubted_causes.hpp"

#include "analysis/base/result.hpp"
#include "analysis/causes/cause.hpp"

#include <algorithm>

namespace dropledger::audit {

namespace {

using causes::CauseKind;

bool is_of_places(CauseKind kind) {
    return kind == CauseKind::valve_lag || kind == CauseKind::valve_drift;
}

// Gathered in time, as what a gate overlooks may be; what gathers at one cell is the disc's.
bool is_of_missing_seed(CauseKind kind) {
    return kind == CauseKind::bridging || kind == CauseKind::empty_container ||
           kind == CauseKind::start_loss;
}

bool is_left_open(CauseKind kind, Contradiction by) {
    switch (by) {
    case Contradiction::log_disagrees:
        return false; // which of the lines are wrong is told first
    case Contradiction::gates_disagree:
    case Contradiction::calibration_contradicted:
    case Contradiction::gate_fell_silent:
        return is_of_missing_seed(kind);
    case Contradiction::all_units_off:
        return kind == CauseKind::valve_lag;
    case Contradiction::gate_without_place:
    case Contradiction::travel_jumps:
    case Contradiction::drops_out_of_step:
        return is_of_places(kind);
    case Contradiction::order_not_carried_out:
    case Contradiction::channels_alike:
        return kind != CauseKind::gate_going_blind;
    case Contradiction::pulses_without_drop:
        return kind == CauseKind::double_feeding;
    }
    throw BrokenInvariant("a contradiction that leaves nothing open");
}

bool drifts(const ChannelReport& channel) {
    return std::any_of(channel.causes.begin(), channel.causes.end(),
                       [](const Cause& cause) { return cause.kind == CauseKind::valve_drift; });
}

} // namespace

void withdraw_doubted_causes(const AuditReport& report, ChannelReport& channel) {
    std::erase_if(channel.causes, [&](const Cause& cause) {
        return std::any_of(report.contradictions.begin(), report.contradictions.end(),
                           [&](const Contradicted& found) {
                               const bool here =
                                   !found.channel || *found.channel == channel.channel;
                               return here && is_left_open(cause.kind, found.kind);
                           });
    });
}

void look_first_at_what_is_shared(AuditReport& report) {
    constexpr std::size_t fewest = 3;
    if (report.channels.size() < fewest ||
        !std::all_of(report.channels.begin(), report.channels.end(), drifts))
        return;
    for (ChannelReport& channel : report.channels)
        for (Cause& cause : channel.causes)
            if (cause.kind == CauseKind::valve_drift) {
                cause.evidence += ", and those of all other units move as well";
                cause.look_at = "what all units share: the travel sensor and what it runs on, the "
                                "bench's supply; then the valves' lag";
            }
}

} // namespace dropledger::audit
