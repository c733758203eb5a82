// Several audits of one unit at several speeds, looked at together.
//
// Assumes: the logs named together are of the same seed and setting. The speed is the one
// travelled, not the one asked for.
// Undefined when: a unit has fewer than three speeds at least 5 % apart: no series of it.
#pragma once

#include "analysis/audit/model/audit_report.hpp"
#include "analysis/causes/speed_dependence.hpp"

#include <string>
#include <vector>

namespace dropledger::audit {

struct SeriesRun {
    std::string file;
    causes::SpeedRun run;
};

struct UnitSeries {
    std::string unit;
    std::vector<SeriesRun> runs; // in the order of the logs
    std::vector<causes::SpeedTrend> trends;
    std::vector<Cause> causes; // kind speed_dependence
};

[[nodiscard]] std::vector<UnitSeries> unit_series(const std::vector<AuditReport>& reports);

[[nodiscard]] std::string_view name_of(causes::SpeedTrend::What what);

} // namespace dropledger::audit
