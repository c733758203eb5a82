// The field audit in a farmer's words: sentences that the terminal report and the page share.
//
// What a person does comes first; "sensor" is said for the gate. Text is ASCII.
#pragma once

#include "analysis/field/audit.hpp"

#include <string>
#include <vector>

namespace dropledger::report::field {

// What to do, in one line: "Re-seed 3 places, 312 m, 18 min; row 4: the container ran empty; ...".
[[nodiscard]] std::string headline(const dropledger::field::FieldAudit& audit);
// "Of 40 alerts ..."
[[nodiscard]] std::string alerts_line(const dropledger::field::FieldAudit& audit);
// What the table holds: fields, where on earth, rows, spacing, what was kept out and why.
[[nodiscard]] std::vector<std::string> opening(const dropledger::field::FieldAudit& audit);
[[nodiscard]] std::vector<std::string> cause_sentences(const dropledger::field::FieldAudit& audit);
// What is lost, what re-seeding takes and brings back, and whether it pays.
[[nodiscard]] std::vector<std::string>
reseeding_sentences(const dropledger::field::FieldAudit& audit);
[[nodiscard]] std::vector<std::string> dig_sentences(const dropledger::field::FieldAudit& audit);
[[nodiscard]] std::vector<std::string> alert_sentences(const dropledger::field::FieldAudit& audit);
[[nodiscard]] std::vector<std::string> place_sentences(const dropledger::field::FieldAudit& audit);

// "seed missing", "sensor missed it", "can't tell"
[[nodiscard]] std::string_view judgement_words(dropledger::field::Judgement judgement);
// P(missing) of a silent drop that comes singly, or its bounds.
[[nodiscard]] std::string single_silent_words(const dropledger::field::RowJudge& row);
// "between 3 and 12 of 4 500, most in row 2"
[[nodiscard]] std::string lost_words(const dropledger::field::FieldAudit& audit,
                                     const dropledger::field::FieldPart& part);
// "52.1234 N, 10.5678 E", or "east 12 m, north 340 m"
[[nodiscard]] std::string place_words(const dropledger::field::FieldAudit& audit,
                                      const dropledger::field::Place& at);
// "valve stuck closed, container empty or cable"
[[nodiscard]] std::string kinds_words(const std::vector<dropledger::causes::CauseKind>& kinds);

} // namespace dropledger::report::field
