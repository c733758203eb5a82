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
[[nodiscard]] std::vector<std::string>
decision_sentences(const dropledger::field::FieldAudit& audit);
[[nodiscard]] std::vector<std::string> cause_sentences(const dropledger::field::FieldAudit& audit);
// P(missing) of a silent drop that comes singly, or its bounds.
[[nodiscard]] std::string single_silent_words(const dropledger::field::RowJudge& row);
// "between 3 and 12 of 4 500, most in row 2"
[[nodiscard]] std::string lost_words(const dropledger::field::FieldAudit& audit,
                                     const dropledger::field::FieldPart& part);
[[nodiscard]] std::vector<std::string> place_sentences(const dropledger::field::FieldAudit& audit);

} // namespace dropledger::report::field
