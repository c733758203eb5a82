// A batch under test: what it is, by which plan it is judged, which runs were made, what they
// decide.
//
// Rules: only units of the random choice are tested. Every counted run counts: a unit is
// nonconforming where any of them is outside, conforming where none is and one is within; with
// undecided runs only it needs another. A unit that has such a decisive run is tested again only
// with a reason. A run that was the bench's fault is made void with a reason: it stays listed.
// Assumes: callers hand in times and seeds; nothing here reads a clock.
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/batch/certificate.hpp"
#include "analysis/batch/tested_run.hpp"
#include "analysis/sampling/sampling_plan.hpp"
#include "analysis/statistics/stopping/two_point.hpp"

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::batch {

struct BatchPlan {
    PlanKind kind = PlanKind::table;
    LotRequest request;          // table: level, AQL, severity; the lot always
    std::string severity_reason; // table: the switching rules' word for it, or "as asked"
    std::optional<statistics::TwoPoint> points; // two_point
    AttributePlan numbers;
};

// The tables' plan for the lot; n and Ac of one's own; the smallest plan that keeps two risks.
[[nodiscard]] Result<BatchPlan> table_plan(const LotRequest& request, std::string severity_reason);
[[nodiscard]] Result<BatchPlan> own_plan(std::int64_t lot, std::int64_t n, std::int64_t accept);
[[nodiscard]] Result<BatchPlan> two_point_plan(std::int64_t lot, statistics::TwoPoint points);

struct BatchProfile {
    std::string name;
    std::string sha256;
    std::string text; // the whole file: every run is judged by it
};

struct BatchDecision {
    LotOutcome outcome = LotOutcome::accepted;
    std::int64_t nonconforming = 0;
    std::string decided; // when
};

struct Batch {
    std::string id;
    std::string opened;
    std::vector<std::string> serials; // of all units; their number is the batch's size
    BatchProfile profile;
    BatchPlan plan;
    std::uint64_t seed = 0;
    std::vector<std::string> chosen;
    std::vector<TestedRun> runs;
    std::vector<UsedCalibration> calibrations;
    std::optional<BatchDecision> decision;

    [[nodiscard]] std::int64_t size() const { return static_cast<std::int64_t>(serials.size()); }
};

struct OpenRequest {
    std::string id;
    std::string opened;
    std::vector<std::string> serials;
    BatchProfile profile;
    BatchPlan plan;
    std::uint64_t seed = 0;
};
// Chooses the units. Refused: a serial twice or empty, or not as many as the plan's lot.
[[nodiscard]] Result<Batch> open_batch(OpenRequest request);

// All runs of one log, or none of them. `reason` (may be empty) is of re-tests.
[[nodiscard]] Status add_runs(Batch& batch, std::vector<TestedRun> runs, const std::string& reason);

// Known calibrations are kept; the same id with another content is refused.
[[nodiscard]] Status add_calibration(Batch& batch, const UsedCalibration& calibration);

// Takes a run (all units of its log, or one) out of the count.
struct VoidRequest {
    std::string run; // its id, or the name of its log
    std::optional<std::string> unit;
    std::string reason;
};
[[nodiscard]] Status make_void(Batch& batch, const VoidRequest& request);

struct Standing {
    std::vector<std::string> conforming;
    std::vector<std::string> nonconforming;
    std::vector<std::string> undecided; // tested, but no run of theirs decides
    std::vector<std::string> untested;
};
[[nodiscard]] Standing standing(std::span<const std::string> chosen,
                                std::span<const TestedRun> runs);

// Empty where units are still missing and their results can matter. Enough nonconforming units
// decide at once; acceptance waits for every unit of the sample.
[[nodiscard]] std::optional<LotOutcome> decision_of(const AttributePlan& plan,
                                                    const Standing& standing);

// Misses over all counted runs, and the share of all units above the limit (where there is one).
[[nodiscard]] CertifiedStatistics statistics_of(std::span<const TestedRun> runs,
                                                std::optional<double> limit, Confidence confidence);

// The plan's operating characteristic at a few shares, each of a whole number of units.
[[nodiscard]] std::vector<RiskPoint> risks_of(const AttributePlan& plan, std::int64_t lot);

} // namespace dropledger::batch
