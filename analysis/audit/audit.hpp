// The audit: from the bytes of a log to one model that every output renders.
//
// Assumes: the log can be opened twice (a second pass follows only where the registration learnt
// from the first landings would have entered some landing elsewhere).
#pragma once

#include "analysis/audit/model/audit_report.hpp"
#include "analysis/audit/options.hpp"
#include "analysis/base/readers/byte_source.hpp"

namespace dropledger::audit {

// Fails where nothing can be read; throws BrokenInvariant where an identity of the ledger does not
// hold.
[[nodiscard]] Result<AuditReport> audit_log(const OpenBytes& open, const AuditOptions& options);

} // namespace dropledger::audit
