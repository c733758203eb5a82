#include "calibration/lead/lead.hpp"

#include "analysis/audit/audit.hpp"
#include "analysis/audit/model/audit_report.hpp"
#include "analysis/base/readers/csv_table.hpp"
#include "analysis/base/results.hpp"
#include "analysis/base/text.hpp"
#include "analysis/causes/cause.hpp"
#include "analysis/statistics/basics/distributions.hpp"
#include "calibration/lead/travel_step.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::calibration {

namespace {

using audit::AuditReport;
using audit::ChannelReport;

Result<const ChannelReport*> channel_of(const AuditReport& report, const std::string& file,
                                        std::optional<int> channel) {
    if (!channel && report.channels.size() > 1)
        return usage_error(
            file,
            fmt::format("{} channels, and each valve has its own lag", report.channels.size()),
            "say which with `channel`");
    for (const ChannelReport& one : report.channels)
        if (!channel || one.channel == *channel)
            return &one;
    return input_error(file, "no such channel",
                       "see which channels the log has with `dropledger audit`");
}

// Of single seeds, those that fell alone: a double's second seed leaves the valve later and would
// look like a lag.
const statistics::Estimate& mean_error_mm(const ChannelReport& channel) {
    const measures::PlacementResult& placement = *channel.placement();
    return channel.single() != nullptr && placement.lone_bias_mm ? *placement.lone_bias_mm
                                                                 : *placement.bias_mm;
}

bool is_of_places(audit::Contradiction kind) {
    using K = audit::Contradiction;
    return kind == K::travel_jumps || kind == K::drops_out_of_step || kind == K::channels_alike ||
           kind == K::gate_without_place;
}

std::optional<std::string> doubt_about_places(const AuditReport& report,
                                              const ChannelReport& channel) {
    for (const audit::Contradicted& found : report.contradictions)
        if (is_of_places(found.kind) && (!found.channel || *found.channel == channel.channel))
            return found.what;
    for (const audit::Cause& cause : channel.causes)
        if (cause.kind == causes::CauseKind::valve_drift)
            return cause.evidence + ", so its lag has no one value (valves that warm up?)";
    return std::nullopt;
}

constexpr double kmh_per_mps = 3.6;

// Each of these columns may be missing.

Status take_uncertainty(const CsvTable& table, const CsvRow& row, LeadRun& run) {
    if (!table.has(2))
        return Done{};
    const auto u = table.number(row, 2);
    if (!u || !(*u > 0.0))
        return table.problem(row, fmt::format("u_mm is '{}', expected above 0", row.fields[2]),
                             "the standard uncertainty of the mean error");
    run.u_mm = *u;
    return Done{};
}

Status take_direction(const CsvTable& table, const CsvRow& row, LeadRun& run) {
    if (!table.has(3))
        return Done{};
    const auto direction = table.number(row, 3);
    if (!direction || (*direction != 1.0 && *direction != -1.0))
        return table.problem(row, fmt::format("direction is '{}'", row.fields[3]),
                             "1 there, -1 back");
    run.direction = *direction > 0.0 ? 1 : -1;
    return Done{};
}

Status take_lead(const CsvTable& table, const CsvRow& row, LeadRun& run) {
    constexpr std::int64_t most_us = 60'000'000;
    if (!table.has(4))
        return Done{};
    const auto lead_us = parse_int(row.fields[4]);
    if (!lead_us || *lead_us < -most_us || *lead_us > most_us)
        return table.problem(row, fmt::format("lead_us is '{}'", row.fields[4]),
                             "whole microseconds, up to a minute");
    run.lead_us = *lead_us;
    return Done{};
}

Result<LeadRun> from_row(const CsvTable& table, const CsvRow& row, bool in_kmh) {
    LeadRun run;
    run.name = table.problem(row, {}, {}).where;
    const auto speed = table.number(row, 0);
    const auto error = table.number(row, 1);
    if (!speed || !error)
        return speed ? error.error() : speed.error();
    run.speed_mps = in_kmh ? *speed / kmh_per_mps : *speed;
    run.error_mm = *error;
    if (!(run.speed_mps > 0.0))
        return table.problem(row, fmt::format("the speed is {}, expected above 0", row.fields[0]),
                             "give the way of travel in the column direction, 1 or -1");
    using Take = Status (*)(const CsvTable&, const CsvRow&, LeadRun&);
    for (const Take take : {take_uncertainty, take_direction, take_lead})
        if (const Status taken = take(table, row, run); !taken)
            return taken.error();
    return run;
}

} // namespace

std::optional<double> standard_uncertainty(const statistics::Estimate& mean) {
    if (!mean.interval)
        return std::nullopt;
    const double z = statistics::normal_quantile(1.0 - mean.confidence.each_tail());
    return (mean.interval->high - mean.interval->low) / 2.0 / z;
}

Result<LeadRun> lead_run(const OpenBytes& open, const std::string& file,
                         std::optional<int> channel) {
    audit::AuditOptions how;
    how.file = file;
    const auto report = audit::audit_log(open, how);
    if (!report)
        return report.error();
    const auto found = channel_of(*report, file, channel);
    if (!found)
        return found.error();
    const ChannelReport& one = **found;
    if (one.placement() == nullptr || !one.placement()->bias_mm)
        return input_error(file,
                           "no placement errors: nothing landed, or the gate sits above the valve",
                           "a lag needs a gate below the valve, in single or portion mode");
    if (report->travelled.duration_us <= 0 || report->travelled.distance_um <= 0)
        return input_error(file, "no travel, so no speed", "the log needs travel lines");
    LeadRun run;
    run.name = file;
    run.speed_mps = static_cast<double>(report->travelled.distance_um) /
                    static_cast<double>(report->travelled.duration_us);
    run.direction = report->direction;
    const statistics::Estimate& mean = mean_error_mm(one);
    run.error_mm = mean.value * run.direction; // the audit counts as the log does
    run.u_mm = standard_uncertainty(mean);
    constexpr double whole_um_mm = 0.001 / 3.4641016; // places are whole micrometres
    if (run.u_mm)
        run.u_mm = std::max(*run.u_mm, whole_um_mm);
    if (!run.u_mm)
        return input_error(file, "too few drops for an uncertainty of the mean error",
                           "make the run longer");
    run.drops = one.drops()->table.drops;
    run.step_mm = travel_step_mm(report->travelled.step_um);
    run.doubt = doubt_about_places(*report, one);
    if (const auto setup = report->setup.channels.find(one.channel);
        setup != report->setup.channels.end())
        run.lead_us = setup->second.lead_us;
    return run;
}

Result<std::vector<LeadRun>> read_lead_runs(std::string_view text, const std::string& file) {
    const bool in_kmh = text.find("speed_mps") == std::string_view::npos &&
                        text.find("speed_kmh") != std::string_view::npos;
    return CsvTable::read(text, file,
                          {.needed = {in_kmh ? "speed_kmh" : "speed_mps", "error_mm"},
                           .optional = {"u_mm", "direction", "lead_us"}})
        .and_then([in_kmh](const CsvTable& table) {
            return each(table.rows(),
                        [&](const CsvRow& row) { return from_row(table, row, in_kmh); });
        });
}

} // namespace dropledger::calibration
