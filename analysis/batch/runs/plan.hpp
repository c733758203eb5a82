// By which plan a batch is judged: of the tables, of one's own numbers, the smallest that keeps two
// risks, with a second sample, or by a measured quantity.
//
// Undefined when: numbers that are no plan, or do not fit the batch: usage error.
#pragma once

#include "analysis/base/enum_names.hpp"
#include "analysis/base/result.hpp"
#include "analysis/sampling/double_plan.hpp"
#include "analysis/sampling/sampling_plan.hpp"
#include "analysis/sampling/variables_plan.hpp"
#include "analysis/statistics/stopping/two_point.hpp"
#include "analysis/verdict/profile.hpp"

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

enum class PlanKind : std::uint8_t {
    table,
    own,
    two_point,
    two_samples, // a doubtful first sample calls for a second
    variables,   // by mean and spread of a measured quantity
};

inline constexpr std::array plan_kind_names{
    EnumName{PlanKind::table, "table"}, EnumName{PlanKind::own, "own"},
    EnumName{PlanKind::two_point, "two_point"}, EnumName{PlanKind::two_samples, "two_samples"},
    EnumName{PlanKind::variables, "variables"}};
static_assert(names_all<plan_kind_names>());

[[nodiscard]] constexpr std::string_view word_of(PlanKind kind) {
    return row_in(plan_kind_names, kind).key;
}

// One value a unit: what the profile limits. Accepted where mean + k s keeps the limit.
struct Measured {
    verdict::Limit limit;
    VariablesPlan plan;
};

struct BatchPlan {
    PlanKind kind = PlanKind::table;
    LotRequest request;          // table: level, AQL, severity; the lot always
    std::string severity_reason; // table: the switching rules' word for it, or "as asked"
    std::optional<statistics::TwoPoint> points; // two_point
    AttributePlan numbers; // of two samples: both together; by variables: n only
    std::optional<DoublePlan> samples{};
    std::optional<Measured> measured{};
};

// The tables' plan for the lot; n and Ac of one's own; the smallest plan that keeps two risks.
[[nodiscard]] Result<BatchPlan> table_plan(const LotRequest& request, std::string severity_reason);
[[nodiscard]] Result<BatchPlan> own_plan(std::int64_t lot, std::int64_t n, std::int64_t accept);
[[nodiscard]] Result<BatchPlan> two_point_plan(std::int64_t lot, statistics::TwoPoint points);

// Two samples: numbers of one's own, with or without the two points that they must keep.
[[nodiscard]] Result<BatchPlan> two_sample_plan(std::int64_t lot, const DoublePlan& samples,
                                                std::optional<statistics::TwoPoint> points);
// The smallest one that keeps them.
[[nodiscard]] Result<BatchPlan> two_sample_plan(std::int64_t lot, statistics::TwoPoint points);
// `limit`: one of the profile's, at most or at least.
[[nodiscard]] Result<BatchPlan> variables_plan_of(std::int64_t lot, const verdict::Limit& limit,
                                                  statistics::TwoPoint points);

// The plan's operating characteristic at a few shares, each of a whole number of units.
[[nodiscard]] std::vector<RiskPoint> risks_of(const BatchPlan& plan);

// Both risks by name, each at a share of a whole number of units. Producer's: not to accept at the
// AQL or the good level; there is none for numbers of one's own. Consumer's: the least share that
// is accepted with a chance of at most a tenth; none where every share may be accepted.
inline constexpr double consumers_chance = 0.10;
struct NamedRisks {
    std::optional<RiskPoint> producer;
    std::optional<RiskPoint> consumer;
};
[[nodiscard]] NamedRisks named_risks_of(const BatchPlan& plan);

} // namespace dropledger::batch
