// By which plan a batch is judged: of the tables, of one's own numbers, or the smallest that keeps
// two risks.
//
// Undefined when: numbers that are no plan, or do not fit the batch: usage error.
#pragma once

#include "analysis/base/enum_names.hpp"
#include "analysis/base/result.hpp"
#include "analysis/sampling/sampling_plan.hpp"
#include "analysis/statistics/stopping/two_point.hpp"

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::batch {

struct RiskPoint {
    double share = 0.0; // of nonconforming units in the batch
    double accept_probability = 0.0;
};

enum class PlanKind : std::uint8_t { table, own, two_point };

inline constexpr std::array plan_kind_names{EnumName{PlanKind::table, "table"},
                                            EnumName{PlanKind::own, "own"},
                                            EnumName{PlanKind::two_point, "two_point"}};
static_assert(names_all<plan_kind_names>());

[[nodiscard]] constexpr std::string_view word_of(PlanKind kind) {
    return row_in(plan_kind_names, kind).key;
}

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

// The plan's operating characteristic at a few shares, each of a whole number of units.
[[nodiscard]] std::vector<RiskPoint> risks_of(const AttributePlan& plan, std::int64_t lot);

} // namespace dropledger::batch
