// Causes that the run's contradicted evidence does not carry, and causes that all units share.
#pragma once

#include "analysis/audit/model/audit_report.hpp"

namespace dropledger::audit {

// Takes out the causes that rest on what a contradiction leaves open: a seed that a gate sees twice
// is no double feeding, a gate that is blind no empty container.
void withdraw_doubted_causes(const AuditReport& report, ChannelReport& channel);

// Where the places of all units of three and more drift, what they share comes before their valves.
void look_first_at_what_is_shared(AuditReport& report);

} // namespace dropledger::audit
