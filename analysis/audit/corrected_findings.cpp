#include "analysis/audit/corrected_findings.hpp"

#include "analysis/audit/correct.hpp"
#include "analysis/audit/doubt/doubt.hpp"
#include "analysis/base/cases.hpp"
#include "analysis/measures/corrections/line_correction.hpp"
#include "analysis/measures/corrections/portion_correction.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::audit {

using statistics::Estimate;
using statistics::Interval;
using verdict::Finding;
using verdict::Limit;

namespace {

using AtBest = std::optional<Interval>;

// What a corrected finding is made of.
struct Evidence {
    const Limit& limit;
    const Estimate& efficiency;
    Confidence confidence;
    Doubt doubt;
};

// Lines missing from the log could have been pulses of drops that count as misses.
AtBest single_at_best(const Evidence& evidence, const SingleDrops& single) {
    measures::ObservedShares seen = observed_shares(single);
    seen.miss = std::max<std::int64_t>(0, seen.miss - spared_misses(evidence.doubt, seen.miss));
    seen.multiple = std::max<std::int64_t>(0, seen.multiple - evidence.doubt.missing_lines);
    const auto best = measures::corrected_shares(seen, evidence.efficiency, evidence.confidence);
    if (!best)
        return std::nullopt;
    const Quantity quantity = corrected_as(evidence.limit.quantity);
    if (quantity == Quantity::miss_index)
        return best->miss.estimate.interval;
    return quantity == Quantity::multiples_index ? best->multiple.estimate.interval
                                                 : best->single.estimate.interval;
}

const measures::Corrected& portion_part(const measures::CorrectedPortions& found,
                                        Quantity quantity) {
    return quantity == Quantity::empty_share   ? found.empty
           : quantity == Quantity::short_share ? found.shorted
           : quantity == Quantity::over_share  ? found.over
                                               : found.exact;
}

// Or of portions that count as empty, or as short by one.
AtBest portion_at_best(const Evidence& evidence, const Portions& portions,
                       std::optional<std::size_t> target) {
    const bool empty = evidence.limit.quantity == Quantity::empty_share;
    if (evidence.doubt.gate_blocked || !target)
        return evidence.limit.sense() == verdict::Sense::at_most ? Interval{0.0, 0.0}
                                                                 : Interval{1.0, 1.0};
    measures::ObservedPortions seen = observed_portions(portions, *target);
    seen.distribution.resize(std::max(seen.distribution.size(), *target + 1), 0);
    const std::size_t from = empty ? 0 : *target - 1;
    const std::int64_t spared = std::min(evidence.doubt.missing_lines, seen.distribution[from]);
    seen.distribution[from] -= spared;
    seen.distribution[from + 1] += spared;
    const auto best = measures::corrected_portions(seen, evidence.efficiency, evidence.confidence);
    if (!best)
        return std::nullopt;
    return portion_part(*best, evidence.limit.quantity).estimate.interval;
}

AtBest line_corrected_at_best(const Evidence& evidence, measures::LineResult line) {
    const Limit& limit = evidence.limit;
    for (auto* seen : {&line.cv, &line.dispersion_index, &line.rate_error})
        if (*seen && (*seen)->interval)
            if (const auto best = line_at_best(limit, line, *(*seen)->interval, evidence.doubt))
                (*seen)->interval = best;
    const auto found = measures::corrected_line(line, evidence.efficiency, evidence.confidence);
    const auto& corrected = limit.quantity == Quantity::cv           ? found.cv
                            : limit.quantity == Quantity::rate_error ? found.rate_error
                                                                     : found.dispersion_index;
    return corrected ? corrected->estimate.interval : std::nullopt;
}

AtBest at_best(const Evidence& evidence, const AuditReport& report, const ChannelReport& channel) {
    return std::visit(
        Cases{[&](const SingleDrops& single) { return single_at_best(evidence, single); },
              [&](const Portions& portions) {
                  return portion_at_best(evidence, portions, common_target(report, portions));
              },
              [&](const measures::LineResult& line) {
                  return line_corrected_at_best(evidence, line);
              },
              [](const measures::SpacingResult&) -> AtBest {
                  throw BrokenInvariant("a list of spacings has no gate");
              }},
        channel.results);
}

// Not where the efficiency's own uncertainty straddles the limit: a run without end would leave
// that.
bool more_drops_help(const Limit& limit, const Interval& endless) {
    const auto inside = [&](double at) { return endless.low <= at && at <= endless.high; };
    return !inside(limit.value) &&
           !(limit.sense() == verdict::Sense::magnitude_at_most && inside(-limit.value));
}

// Half-widths shrink with the square root of the seeds. Nothing where it would be more than anyone
// counts.
std::string how_many_more(const Limit& limit, const measures::Corrected& corrected) {
    constexpr double most = 50.0;
    const double value = corrected.estimate.value;
    const double limit_at = limit.sense() == verdict::Sense::magnitude_at_most && value < 0.0
                                ? -limit.value
                                : limit.value;
    const double reach =
        limit_at > value ? corrected.endless.high - value : value - corrected.endless.low;
    const double times = std::ceil(std::pow(reach / (limit_at - value), 2) + 1e-9);
    return std::isfinite(times) && times <= most
               ? fmt::format("at least {:.0f} times as many seeds", std::max(2.0, times))
               : "many more seeds";
}

} // namespace

std::optional<Finding> corrected_finding(const Limit& limit, const AuditReport& report,
                                         const ChannelReport& channel) {
    const SensorCorrection* const found = channel.sensor.correction(limit.quantity);
    if (found == nullptr)
        return std::nullopt;
    Finding finding;
    finding.estimate = found->corrected.estimate;
    finding.observations =
        more_drops_help(limit, found->corrected.endless) ? channel.counted().count : 0;
    if (const Doubt doubt = doubt_about(report, channel); doubt.any())
        finding.at_best = at_best(
            {limit, *channel.sensor.efficiency, report.profile.confidence, doubt}, report, channel);
    return finding;
}

void explain_undecided(const ChannelReport& channel, verdict::Criterion& criterion) {
    const SensorCorrection* const found = channel.sensor.correction(criterion.limit.quantity);
    if (found == nullptr || criterion.outcome != verdict::Outcome::undecided ||
        more_drops_help(criterion.limit, found->corrected.endless))
        return;
    criterion.reason += fmt::format(
        "; more drops would not decide it, for how much gate {} overlooks is not known well "
        "enough: calibrate it with {}",
        channel.gate, how_many_more(criterion.limit, found->corrected));
}

} // namespace dropledger::audit
