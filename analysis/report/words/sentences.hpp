// Sentences and labelled lines that the terminal report and the page share: who, verdict,
// identities, context, integrity, cautions.
//
// Text is ASCII, except what comes out of a log.
#pragma once

#include "analysis/audit/model/audit_report.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace dropledger::report {

[[nodiscard]] std::string capitalised(std::string text);
[[nodiscard]] std::string channel_words(const audit::ChannelReport& channel); // "unit A-17, row 3"
[[nodiscard]] std::string gate_words(const audit::AuditReport& report,
                                     const audit::ChannelReport& channel);
[[nodiscard]] std::string_view kind_words(measures::EntryKind kind);

// One word that stands for the outcome, and the sentence that says it.
[[nodiscard]] std::string_view outcome_words(verdict::Outcome outcome); // "Within tolerance"
[[nodiscard]] std::string verdict_sentence(const audit::AuditReport& report,
                                           const audit::ChannelReport& channel);
[[nodiscard]] std::string verdict_sentence(const audit::AuditReport& report);

// The ledger's identities with their numbers, as they are printed under the table.
[[nodiscard]] std::vector<std::string> identities(ledger::Mode mode,
                                                  const measures::LedgerTable& table);
// Where long gaps make the miss index count less than the ledger: why, with both counts; else
// empty.
[[nodiscard]] std::string long_gap_words(const audit::ChannelReport& channel);
// Dispersion of a line in words.
[[nodiscard]] std::string dispersion_words(const measures::LineResult& line);
[[nodiscard]] std::string transverse_words(const measures::Transverse& transverse);
[[nodiscard]] std::string deviation_words(const measures::ChannelDeviation& channel);
[[nodiscard]] std::string longest_gap_words(const measures::LineResult& line);

// In the reader's own time where the caller gave it, else as the log says.
[[nodiscard]] std::string started_words(const audit::AuditReport& report);

// Label and text of everything that must be said first: file, run, settings, profile, calibration.
struct ContextRow {
    std::string label;
    std::string text;
};
[[nodiscard]] std::vector<ContextRow> context_rows(const audit::AuditReport& report);
// What was found out about the log as a document, as sentences; the first says whether all is well.
[[nodiscard]] std::vector<std::string> integrity_sentences(const audit::AuditReport& report);
[[nodiscard]] std::vector<std::string> cautions();

} // namespace dropledger::report
