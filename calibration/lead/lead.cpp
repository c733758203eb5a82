#include "calibration/lead/lead.hpp"

#include "calibration/lead/travel_step.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::calibration {

using statistics::Estimate;
using statistics::Interval;

namespace {

constexpr double us_per_ms = 1000.0;
constexpr double same_speed = 0.02; // two speeds nearer than this share are one

Error unusable(std::string what, std::string remedy) {
    return input_error("lead", std::move(what), std::move(remedy));
}

double signed_speed(const LeadRun& run) {
    return run.speed_mps * run.direction;
}

// The speeds that are meant to be the same, numbered; signed, so that there and back are two.
std::vector<int> speed_groups(const std::vector<LeadRun>& runs) {
    std::vector<double> known;
    std::vector<int> groups;
    for (const LeadRun& run : runs) {
        const double speed = signed_speed(run);
        const auto same = std::find_if(known.begin(), known.end(), [&](double other) {
            return std::fabs(other - speed) <= same_speed * std::fabs(other);
        });
        groups.push_back(static_cast<int>(same - known.begin()));
        if (same == known.end())
            known.push_back(speed);
    }
    return groups;
}

int count_speeds(const std::vector<LeadRun>& runs) {
    const std::vector<int> groups = speed_groups(runs);
    return groups.empty() ? 0 : *std::max_element(groups.begin(), groups.end()) + 1;
}

Status check(const std::vector<LeadRun>& runs, bool both_ways) {
    for (const LeadRun& run : runs)
        if (!(run.speed_mps > 0.0) || !std::isfinite(run.speed_mps) ||
            !std::isfinite(run.error_mm) || (run.direction != 1 && run.direction != -1) ||
            (run.u_mm && !(*run.u_mm > 0.0)))
            return unusable(fmt::format("{}: speed {} m/s, direction {}, uncertainty {}", run.name,
                                        run.speed_mps, run.direction,
                                        run.u_mm ? fmt::format("{} mm", *run.u_mm) : "not stated"),
                            "speed and uncertainty are above 0, direction is 1 or -1");
    const auto has_u = [](const LeadRun& run) { return run.u_mm.has_value(); };
    const auto with_u = std::count_if(runs.begin(), runs.end(), has_u);
    if (with_u != 0 && with_u != static_cast<std::ptrdiff_t>(runs.size()))
        return unusable("some runs have an uncertainty and some have none",
                        "give it for all or for none");
    const int speeds = count_speeds(runs);
    if (both_ways && speeds == 2 && runs.size() >= 3)
        return Done{};
    if (speeds < 3)
        return unusable(fmt::format("{} different speeds", speeds),
                        "at least 3 are needed: two fit any line exactly and cannot show that it "
                        "is none (speeds "
                        "within 2 % are one; the same speed there and back are two)");
    return Done{};
}

// The lead that all errors are referred to: that of the last run that states one.
Result<std::optional<std::int64_t>> common_lead(const std::vector<LeadRun>& runs,
                                                const LeadOptions& options) {
    std::optional<std::int64_t> found;
    std::size_t stated = 0;
    for (const LeadRun& run : runs)
        if (run.lead_us) {
            found = run.lead_us;
            ++stated;
        }
    if (stated != 0 && stated != runs.size() && !options.lead_us)
        return unusable("some runs state the lead in force and some do not",
                        "give it with `lead_us`");
    return found ? found : options.lead_us;
}

// With the lead of the other runs: an earlier opening by d takes v·d off.
double referred_error_mm(const LeadRun& run, const LeadOptions& options,
                         std::optional<std::int64_t> lead_us) {
    const auto own = run.lead_us ? run.lead_us : options.lead_us;
    if (!own || !lead_us)
        return run.error_mm;
    return run.error_mm + run.speed_mps * static_cast<double>(*own - *lead_us) / us_per_ms;
}

Estimate estimate(double value, double half_width, Confidence confidence, const char* method) {
    return {.value = value,
            .interval = Interval{value - half_width, value + half_width},
            .confidence = confidence,
            .method = method};
}

const char* method_of(const statistics::LineFit& fit) {
    if (!fit.weighted)
        return "least squares, Student's t";
    if (fit.offsets_sd)
        return "weighted least squares, offsets from run to run integrated out";
    return fit.widened == 1.0 ? "weighted least squares, normal limits"
                              : "weighted least squares widened by the Birge ratio, Student's t";
}

double step_u_mm(const std::vector<LeadRun>& runs) {
    double longest = 0.0;
    for (const LeadRun& run : runs)
        longest = std::max(longest, travel_step_u_mm(run.step_mm));
    return longest;
}

void add_speeds(const std::vector<LeadRun>& runs, const LeadOptions& options, LeadResult& out) {
    for (const LeadRun& run : runs) {
        const double fitted = out.fit.at(signed_speed(run)).value * run.direction;
        out.by_speed.push_back(
            {run, fitted, referred_error_mm(run, options, out.lead_in_force_us) - fitted});
    }
}

// Setting the lead takes the fitted lag away; its uncertainty and the offset stay.
void add_residual(const LeadOptions& options, LeadResult& out) {
    const double k = out.fit.coverage_factor(options.confidence);
    const auto add = [&](double speed_mps, int direction) {
        const bool known =
            std::any_of(out.residual.begin(), out.residual.end(), [&](const ResidualBias& other) {
                return other.direction == direction &&
                       std::fabs(other.speed_mps - speed_mps) <= same_speed * other.speed_mps;
            });
        if (known)
            return;
        const double u = std::hypot(out.fit.at(speed_mps * direction).u, out.step_u_mm);
        out.residual.push_back({speed_mps, direction,
                                estimate(out.fit.intercept * direction, k * u, options.confidence,
                                         method_of(out.fit))});
    };
    for (const SpeedResult& speed : out.by_speed)
        add(speed.run.speed_mps, speed.run.direction);
    for (const double speed_mps : options.at_mps)
        add(speed_mps, 1);
}

void add_notes(LeadResult& out) {
    for (const SpeedResult& speed : out.by_speed)
        if (speed.run.doubt)
            out.notes.push_back(fmt::format("{}: {}.", speed.run.name, *speed.run.doubt));
    if (out.fit.offsets_sd && out.fit.lack_of_fit_p.value_or(1.0) < 0.05)
        out.notes.push_back(fmt::format(
            "The runs scatter about the line more than their own uncertainties allow (p = {:.2g}): "
            "as if each were off by {:.2f} mm of its own. The intervals allow for that.",
            *out.fit.lack_of_fit_p, *out.fit.offsets_sd));
    if (out.fit.weighted && !out.fit.offsets_sd && out.fit.widened == 1.0)
        out.notes.push_back(fmt::format(
            "{} runs cannot show whether each is off by something of its own (mounting, "
            "temperature): the intervals take it that none is. {} runs, three at each of three "
            "speeds, would show it.",
            out.by_speed.size(), statistics::enough_for_offsets));
    if (!out.fit.offsets_sd && out.fit.widened > 1.0)
        out.notes.push_back(fmt::format("The runs scatter about the line more than their own "
                                        "uncertainties allow (p = {:.2g}): uncertainties are "
                                        "widened {:.2f} times. A lag that changes with speed, or "
                                        "runs that are unlike for another reason, would look "
                                        "like this.",
                                        *out.fit.lack_of_fit_p, out.fit.widened));
    if (!out.fit.weighted && out.fit.lack_of_fit_p.value_or(1.0) < 0.05)
        out.notes.push_back(
            fmt::format("The errors do not lie on a straight line over speed (p = {:.2g}).",
                        *out.fit.lack_of_fit_p));
    if (out.step_u_mm > 0.0)
        out.notes.push_back(fmt::format(
            "Travel is told in whole counts, so every place may lie up to one count off, the "
            "same way in all runs: {:.3f} mm of the offset's uncertainty.",
            out.step_u_mm));
    if (!out.lead_in_force_us)
        out.notes.emplace_back(
            "The lead in force is not known: add the lag to it yourself (`lead_us`).");
    if (out.lead_to_set_us && *out.lead_to_set_us < 0)
        out.notes.emplace_back(
            "The lead to set is below 0: no controller opens a valve after the seed should have "
            "landed; check flight times and signs.");
}

} // namespace

const LeadRun* LeadResult::first_in_doubt() const {
    const auto found = std::find_if(by_speed.begin(), by_speed.end(), [](const SpeedResult& speed) {
        return speed.run.doubt.has_value();
    });
    return found == by_speed.end() ? nullptr : &found->run;
}

Result<LeadResult> lead(const std::vector<LeadRun>& runs, const LeadOptions& options) {
    if (const Status status = check(runs, options.both_ways); !status)
        return status.error();
    const auto lead_us = common_lead(runs, options);
    if (!lead_us)
        return lead_us.error();
    const std::vector<int> groups = speed_groups(runs);
    std::vector<statistics::FitPoint> points;
    for (std::size_t i = 0; i < runs.size(); ++i)
        points.push_back({signed_speed(runs[i]),
                          referred_error_mm(runs[i], options, *lead_us) * runs[i].direction,
                          runs[i].u_mm, groups[i]});
    const auto fit = statistics::fit_line(points);
    if (!fit)
        throw BrokenInvariant("lead: runs were checked, yet no line fits");
    LeadResult out;
    out.fit = *fit;
    out.lead_in_force_us = *lead_us;
    const double k = fit->coverage_factor(options.confidence);
    out.lag_u_us = fit->u_slope * us_per_ms;
    out.step_u_mm = step_u_mm(runs);
    out.offset_u_mm = std::hypot(fit->u_intercept, out.step_u_mm);
    out.covariance_us_mm = fit->covariance * us_per_ms;
    out.lag_us =
        estimate(fit->slope * us_per_ms, k * out.lag_u_us, options.confidence, method_of(*fit));
    out.offset_mm =
        estimate(fit->intercept, k * out.offset_u_mm, options.confidence, method_of(*fit));
    if (*lead_us)
        out.lead_to_set_us = **lead_us + std::llround(out.lag_us.value);
    add_speeds(runs, options, out);
    add_residual(options, out);
    add_notes(out);
    if (count_speeds(runs) == 2)
        out.notes.emplace_back("There and back at one speed only: that errors grow in proportion "
                               "to speed is taken on trust, and "
                               "an offset that stays with the machine counts as lag.");
    return out;
}

} // namespace dropledger::calibration
