// The field audit in words, for the terminal: what is wrong, where, and what to do, in this order.
#pragma once

#include "analysis/field/audit.hpp"

#include <string>
#include <vector>

namespace dropledger::report::field {

[[nodiscard]] std::string to_text(const dropledger::field::FieldAudit& audit);

// The sentences that text and page share.
[[nodiscard]] std::string headline(const dropledger::field::FieldAudit& audit);
[[nodiscard]] std::vector<std::string> alert_sentences(const dropledger::field::FieldAudit& audit);
[[nodiscard]] std::vector<std::string> decision_sentences(const dropledger::field::FieldAudit& audit);
[[nodiscard]] std::vector<std::string> cause_sentences(const dropledger::field::FieldAudit& audit);
[[nodiscard]] std::vector<std::string> place_sentences(const dropledger::field::FieldAudit& audit);

} // namespace dropledger::report::field
