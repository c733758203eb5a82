#include "analysis/audit/places.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::audit {

namespace {

// As the log states it, else the mean of its travel lines.
std::optional<double> speed_of(const AuditReport& report) {
    if (report.setup.speed_um_s)
        return static_cast<double>(*report.setup.speed_um_s);
    if (report.travelled.duration_us <= 0)
        return std::nullopt;
    return 1e6 * static_cast<double>(report.travelled.distance_um) /
           static_cast<double>(report.travelled.duration_us);
}

void withdraw(statistics::Estimate& estimate, statistics::NoInterval why) {
    estimate.interval.reset();
    estimate.no_interval = why;
    estimate.method += fmt::format("; {}", words(why));
}

// By what shifts all places alike; how far it does, the speed says.
template <class Wider>
void widen(measures::PlacementResult& placement, std::optional<double> speed_um_s,
           const Wider& wider) {
    for (auto* const estimate : {&placement.offset_mm, &placement.bias_mm, &placement.p95_abs_mm}) {
        if (!*estimate || !(*estimate)->interval)
            continue;
        if (speed_um_s)
            wider(**estimate, *speed_um_s);
        else
            withdraw(**estimate, statistics::NoInterval::speed_unknown);
    }
    if (placement.p95_abs_mm && placement.p95_abs_mm->interval)
        placement.p95_abs_mm->interval->low = std::max(0.0, placement.p95_abs_mm->interval->low);
}

// Known up to whole spacings at the most: an interval would claim more.
void withdraw_for_registration(measures::PlacementResult& placement) {
    for (auto* const estimate : {&placement.offset_mm, &placement.bias_mm})
        if (*estimate)
            withdraw(**estimate, statistics::NoInterval::not_identified);
}

// Every place lies off by the fall, and nobody says how long that is.
void withdraw_for_fall(measures::PlacementResult& placement) {
    for (auto* const estimate : {&placement.offset_mm, &placement.bias_mm, &placement.p95_abs_mm,
                                 &placement.within_allowance})
        if (*estimate)
            withdraw(**estimate, statistics::NoInterval::fall_unknown);
}

} // namespace

std::vector<int> gates_without_place(ledger::Mode mode, const ledger::ChannelOutcome& outcome) {
    std::vector<int> found;
    for (const auto& [number, pulses] : outcome.pulses_by_gate)
        if (mode != ledger::Mode::line && pulses > 0 && !outcome.setup.states_place_of(number))
            found.push_back(number);
    return found;
}

void widen_for_flight(double flight_u_us, std::optional<double> speed_um_s,
                      measures::PlacementResult& placement) {
    widen(placement, speed_um_s, [flight_u_us](statistics::Estimate& estimate, double um_per_s) {
        const double half = statistics::normal_quantile(1.0 - estimate.confidence.each_tail()) *
                            flight_u_us * 1e-6 * um_per_s / 1000.0;
        const statistics::Interval before = *estimate.interval;
        estimate.interval = {estimate.value - std::hypot(estimate.value - before.low, half),
                             estimate.value + std::hypot(before.high - estimate.value, half)};
        estimate.method += ", flight time's uncertainty in quadrature";
    });
}

void widen_for_samples(std::int64_t step_ps, std::optional<double> speed_um_s,
                       measures::PlacementResult& placement) {
    widen(placement, speed_um_s, [step_ps](statistics::Estimate& estimate, double um_per_s) {
        const double way_mm = static_cast<double>(step_ps) * 1e-12 * um_per_s / 1000.0;
        const statistics::Interval before = *estimate.interval;
        estimate.interval = {before.low - way_mm, before.high + way_mm};
        estimate.method += ", the way of one sample added";
    });
}

void doubt_places(const AuditReport& report, const ledger::GateLedger& judge,
                  std::optional<double> flight_u_us, measures::PlacementResult& placement) {
    if (flight_u_us)
        widen_for_flight(*flight_u_us, speed_of(report), placement);
    if (report.setup.captured)
        widen_for_samples(report.setup.captured->step_ps, speed_of(report), placement);
    if (judge.gate().fall_assumed)
        withdraw_for_fall(placement);
    if (judge.registration().identified != ledger::Identified::yes)
        withdraw_for_registration(placement);
}

} // namespace dropledger::audit
