// Two runs of the same units side by side, as `dropledger compare` tells it: on a verdict's page and
// on a unit's.
#pragma once

#include "analysis/audit/model/audit_report.hpp"
#include "bench/book/entries.hpp"
#include "bench/station/mechanic/place.hpp"
#include "bench/station/pages/jobs.hpp"
#include "bench/station/server/request.hpp"

#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::station {

// By the book where there is one. `log`: its path.
[[nodiscard]] Result<audit::AuditReport> audited(const Place& place, const std::string& log,
                                                 const std::shared_ptr<Progress>& progress);

// Earlier runs of a unit of this report, to choose from; the last one that ran alike is chosen.
[[nodiscard]] std::string choose_before(const Place& place, const audit::AuditReport& report,
                                        const std::optional<std::string>& chosen);

// The comparison, or why there is none. `before`: the name of a log in the folder.
[[nodiscard]] std::string before_and_after(const Place& place, const audit::AuditReport& after,
                                           const std::string& before,
                                           const std::shared_ptr<Progress>& progress);

// Of a unit's runs, as the book has them; the last two are chosen.
[[nodiscard]] std::string choose_two(const Place& place, const std::string& unit,
                                     const std::vector<book::Run>& runs);
[[nodiscard]] Response unit_before_and_after(const Place& place, Jobs& jobs, const Request& request,
                                             const std::string& bar);

} // namespace dropledger::station
