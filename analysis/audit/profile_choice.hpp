// Asks for the profile to judge by and refuses one that is for another mode.
#pragma once

#include "analysis/audit/options.hpp"

namespace dropledger::audit {

// Without options.choose_profile: a profile without limits.
[[nodiscard]] Result<ProfileChoice>
choose_profile(const AuditOptions& options, const droplog::Header& header, ledger::Mode mode);

} // namespace dropledger::audit
