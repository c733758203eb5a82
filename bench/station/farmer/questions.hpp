// Answers about a table, costs, pace and what sensors see: as fields of a form, and as the command takes
// them.
//
// Assumes: fields are named as the command's options; `query` is what was said already.
#pragma once

#include "bench/commands/field/field_audit.hpp"
#include "bench/station/server/request.hpp"

#include <string>

namespace dropledger::station {

[[nodiscard]] std::string question_fields(const Fields& query);
[[nodiscard]] std::string log_fields(const Fields& query); // what logs do not say
[[nodiscard]] std::string cost_fields(const Fields& query);
[[nodiscard]] bool has_costs(const Fields& query); // some of those are said

[[nodiscard]] Status take_answers(const Fields& query, cli::FieldInput& input);
[[nodiscard]] Status take_log_answers(const Fields& query, cli::FieldInput& input);
[[nodiscard]] Status take_numbers(const Fields& query, cli::DecisionOptions& decision);
// Records by their names in the folder.
[[nodiscard]] Status take_efficiencies(const Fields& query, const std::string& folder,
                                       cli::EfficiencyOptions& efficiency);

} // namespace dropledger::station
