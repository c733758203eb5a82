// What the user says of re-seeding: lengths, germination, costs, pace.
#pragma once

#include "analysis/field/audit.hpp"
#include "bench/commands/shell/command.hpp"

#include <optional>
#include <string>

namespace dropledger::cli {

struct DecisionOptions {
    std::optional<std::string> assume;
    double reseed_min_m = 1.0;
    double germination = 1.0;
    std::optional<double> guard_mm;
    std::optional<double> cost_lost_plant;
    std::optional<double> cost_reseed_metre;
    std::optional<double> cost_gap;
    std::optional<double> cost_seed;
    double late_value = 1.0;
    field::Pace pace;
};

void add_decision_options(Command& command, DecisionOptions& options);
// All of it in the audit's options; refused where a value cannot be.
[[nodiscard]] Status take_decision(const DecisionOptions& options, field::FieldOptions& audit);

} // namespace dropledger::cli
