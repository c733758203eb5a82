// One page for one machine: its units and verdicts, what to do, what was set, cautions, and a place
// to sign. Page and PDF print the same words.
//
// Undefined when: the audit is of a list of spacings: there is no machine; std::nullopt.
#pragma once

#include "analysis/audit/model/audit_report.hpp"
#include "analysis/report/words/sentences.hpp"

#include <optional>
#include <string>
#include <vector>

namespace dropledger::report {

struct SheetUnit {
    verdict::Outcome outcome = verdict::Outcome::undecided;
    std::string row;                // "4", or empty
    std::string unit;               // its serial number, or "channel 3"
    std::string counted;            // "600"
    std::vector<std::string> found; // one a column: value and interval
};

struct SheetTask { // of a unit that is not within, or of the run as a whole
    std::string who;
    std::string cause;
    std::string next;
};

struct MachineSheet {
    std::string title;                // "Outside tolerance"
    std::string lead;                 // how many units are what
    std::string subject;              // which log, when, where, by whom
    std::string counted_what;         // drops, segments
    std::vector<std::string> columns; // what `found` holds
    std::vector<SheetUnit> units;     // by row
    std::vector<SheetTask> tasks;     // worst first
    std::size_t tasks_left_out = 0;   // they stand in the report
    std::vector<ContextRow> set;
    std::vector<std::string> cautions;
    std::string document; // that the log is complete and sealed, or what is wrong with it
};

[[nodiscard]] std::optional<MachineSheet> machine_sheet(const audit::AuditReport& report);

} // namespace dropledger::report
