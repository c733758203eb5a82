// A field audit as asked for: what is read, what gates overlook, what re-seeding is worth; one call.
#pragma once

#include "analysis/field/audit.hpp"
#include "bench/commands/field/field_decision.hpp"
#include "bench/commands/field/field_efficiency.hpp"
#include "bench/commands/field/field_input.hpp"

namespace dropledger::cli {

struct FieldJob {
    FieldInput input;
    EfficiencyOptions efficiency;
    DecisionOptions decision;
};

[[nodiscard]] Result<field::FieldAudit> audit_of(const FieldJob& options);

} // namespace dropledger::cli
