#include "analysis/audit/doubt/doubt.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::audit {

using statistics::Interval;
using verdict::Limit;

namespace {

Interval shifted(const Interval& interval, double by) {
    return {interval.low + by, interval.high + by};
}

} // namespace

Doubt doubt_about(const AuditReport& report, const ChannelReport& channel) {
    Doubt doubt;
    doubt.missing_lines = static_cast<std::int64_t>(report.integrity.missing().at_least);
    doubt.gate_blocked =
        std::any_of(report.faults.begin(), report.faults.end(), [&](const ledger::Fault& fault) {
            return fault.is(droplog::FaultCode::gate_blocked) && fault.concerns(channel.channel);
        });
    return doubt;
}

std::optional<std::string> fault_of_unit(const AuditReport& report, const ChannelReport& channel) {
    using droplog::FaultCode;
    const auto found =
        std::find_if(report.faults.begin(), report.faults.end(), [&](const ledger::Fault& fault) {
            const bool known = fault.is(FaultCode::motor_stall) ||
                               fault.is(FaultCode::valve_stuck) || fault.is(FaultCode::low_voltage);
            return known && fault.concerns(channel.channel);
        });
    if (found == report.faults.end())
        return std::nullopt;
    return fmt::format("the controller reported {} (line {})", found->code, found->line);
}

std::int64_t spared_misses(const Doubt& doubt, std::int64_t misses) {
    return doubt.gate_blocked ? misses : doubt.missing_lines;
}

// Seeds that may be missing from the log make the rate look lower, and leave holes that make the
// line look uneven: each could have fallen where it takes most from the sum of squares, 2·mean at
// the most.
std::optional<Interval> line_at_best(const Limit& limit, const measures::LineResult& line,
                                     const Interval& interval, const Doubt& doubt) {
    if (doubt.gate_blocked)
        return Interval{0.0, 0.0};
    const auto missing = static_cast<double>(doubt.missing_lines);
    if (limit.quantity == Quantity::rate_error) {
        const double middle = (interval.low + interval.high) / 2.0;
        const double seeds = std::max(1.0, static_cast<double>(line.seeds));
        return shifted(interval, std::clamp(-middle, 0.0, (1.0 + middle) * missing / seeds));
    }
    if (!line.dispersion)
        return std::nullopt;
    const double squares = line.dispersion->variance * line.dispersion->degrees;
    const double left = std::max(0.0, squares - 2.0 * missing * line.dispersion->mean);
    const double share = squares > 0.0 ? left / squares : 1.0;
    const double factor = limit.quantity == Quantity::cv ? std::sqrt(share) : share;
    return Interval{interval.low * factor, interval.high * factor};
}

namespace {

std::string why_incomplete(const droplog::Integrity& integrity) {
    for (const droplog::FoundFlaw& flaw : integrity.flaws())
        if (droplog::row_of(flaw.flaw).incomplete)
            return droplog::in_words(flaw);
    throw BrokenInvariant("a log is incomplete and nothing is missing");
}

} // namespace

verdict::RunState run_state(const AuditReport& report, const ChannelReport& channel) {
    verdict::RunState state;
    const Counted counted = channel.counted();
    state.drops = counted.count;
    state.unit = counted.what;
    if (report.from_spacings)
        return state;
    if (!report.integrity.complete()) {
        state.complete = false;
        state.why_incomplete = why_incomplete(report.integrity);
    } else if (doubt_about(report, channel).gate_blocked) {
        state.complete = false;
        state.why_incomplete = "a gate of this channel reported that it was blocked";
    } else if (const auto fault = fault_of_unit(report, channel)) {
        state.complete = false;
        state.why_incomplete = *fault;
    }
    return state;
}

} // namespace dropledger::audit
