// The lag of a valve and the offset of a bench or machine, from placement errors at several speeds:
// e = v·τ + δ.
//
// Seeds that leave τ late land v·τ too far in the direction of travel, whichever way that is; an
// antenna or mounting offset δ stays where it is on the ground and so changes its sign against the
// travel. With errors and speeds counted in one fixed direction (travelling back: speed below 0)
// both are one straight line.
// Units: m/s, mm, µs.
// Assumes: errors of less than half a spacing (placement is known up to a whole spacing only).
// Undefined when: fewer than 3 different speeds, there and back counted as two (2 fit any line
// exactly): refused, unless passes run both ways and repeat: then that errors grow with speed is
// taken on trust, and said.
#pragma once

#include "analysis/base/readers/byte_source.hpp"
#include "analysis/statistics/trends/line_fit.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::calibration {

struct LeadRun {
    std::string name;       // file, or file:line
    double speed_mps = 0.0; // above 0
    int direction = 1;      // 1 or −1
    double error_mm =
        0.0; // mean placement error in the direction of travel: positive where seeds land late
    std::optional<double> u_mm;
    std::optional<std::int64_t> lead_us; // in force during the run
    std::int64_t drops = 0;
    std::optional<double> step_mm; // in which travel is told, where it shows
    // Why its mean error stands for no one lag: places that contradict themselves, or that drift.
    std::optional<std::string> doubt{};
};

// One droplog: its mean placement error from the audit (single seeds: of drops with one seed), its
// speed from the travel.
[[nodiscard]] Result<LeadRun> lead_run(const OpenBytes& open, const std::string& file,
                                       std::optional<int> channel);

// CSV with the columns speed_mps (or speed_kmh), error_mm, and optionally u_mm, direction (1 or
// -1), lead_us.
[[nodiscard]] Result<std::vector<LeadRun>> read_lead_runs(std::string_view text,
                                                          const std::string& file);

struct SpeedResult {
    LeadRun run;
    double fitted_mm = 0.0; // in the direction of travel, at the lead in force
    double residual_mm = 0.0;
};

struct ResidualBias {
    double speed_mps = 0.0;
    int direction = 1;
    statistics::Estimate bias_mm; // expected once the lead is set, in the direction of travel
};

struct LeadResult {
    statistics::LineFit fit;        // y in mm over signed m/s: slope in ms
    statistics::Estimate lag_us;    // left over at lead_in_force_us
    statistics::Estimate offset_mm; // in the fixed direction
    double lag_u_us = 0.0;
    double offset_u_mm = 0.0; // with what the step of the travel readings leaves open
    double step_u_mm = 0.0;   // that alone; all runs share it, so it does not touch the lag
    double covariance_us_mm = 0.0;
    std::optional<std::int64_t> lead_in_force_us;
    std::optional<std::int64_t> lead_to_set_us;
    std::vector<SpeedResult> by_speed;
    std::vector<ResidualBias> residual;
    std::vector<std::string> notes;

    [[nodiscard]] const LeadRun* first_in_doubt() const;
};

// Half the interval over the normal quantile: what the interval says, few blocks and dependence
// included.
[[nodiscard]] std::optional<double> standard_uncertainty(const statistics::Estimate& mean);

struct LeadOptions {
    Confidence confidence{0.95};
    std::optional<std::int64_t> lead_us; // in force, where the runs do not say
    std::vector<double> at_mps;          // further speeds for the residual bias
    // Driven there and back at one speed or more: then two signed speeds are enough
    bool both_ways = false;
};

[[nodiscard]] Result<LeadResult> lead(const std::vector<LeadRun>& runs, const LeadOptions& options);

} // namespace dropledger::calibration
