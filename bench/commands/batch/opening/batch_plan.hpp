// The plan that `batch open` asks for by its options.
#pragma once

#include "analysis/batch/runs/plan.hpp"
#include "bench/commands/shell/command.hpp"

#include <optional>
#include <string>

namespace dropledger::cli {

struct PlanOptions {
    std::optional<std::int64_t> lot;
    std::optional<double> aql;
    std::string level = "II";
    std::optional<std::int64_t> n;
    std::optional<std::int64_t> accept;
    std::optional<double> good;
    std::optional<double> bad;
    double alpha = 0.05;
    double beta = 0.10;
    bool two_samples = false;
    std::optional<std::string> samples;
    std::optional<std::string> measure;
};

void add_plan_options(Command& command, PlanOptions& options);
[[nodiscard]] Status check_plan_options(const PlanOptions& options);

// Of a table's plan the severity, and who says so.
struct PlanRequest {
    std::int64_t lot = 0;
    batch::Severity severity = batch::Severity::normal;
    std::string severity_reason;
    const verdict::Profile* profile = nullptr;
};
[[nodiscard]] Result<batch::BatchPlan> plan_of(const PlanOptions& options,
                                               const PlanRequest& request);

} // namespace dropledger::cli
