// The field audit for the terminal: what to do, what the table holds, why, in this order.
#pragma once

#include "analysis/field/audit.hpp"

#include <string>

namespace dropledger::report::field {

[[nodiscard]] std::string to_text(const dropledger::field::FieldAudit& audit);

} // namespace dropledger::report::field
