// The result of an audit: what every output renders and nothing computes again.
//
// Undefined when: a part cannot be computed it is empty, and `notes` of its channel says why.
#pragma once

#include "analysis/audit/model/channel_report.hpp"
#include "analysis/audit/model/contradiction.hpp"
#include "analysis/droplog/integrity.hpp"
#include "analysis/ledger/run_ledger.hpp"
#include "analysis/measures/transverse.hpp"
#include "analysis/verdict/profile.hpp"
#include "analysis/verdict/stopping_rule.hpp"

#include <optional>
#include <string>
#include <vector>

namespace dropledger::audit {

struct Siblings {
    std::vector<int> unlike; // channels
    std::string method;
    std::vector<std::string> findings; // in words, one a channel
};

struct AuditReport {
    std::string file;
    std::string run_id;
    std::string started;
    std::string started_here{}; // the same in local time, where the caller knows it
    bool from_spacings = false;
    droplog::Integrity integrity; // nothing in it where from_spacings
    droplog::Header header;
    verdict::Profile profile;
    verdict::StoppingRule stopping_rule; // that the log states; tests nothing where there is none
    std::optional<std::string> calibration;
    ledger::RunSetup setup;
    std::vector<ChannelReport> channels;
    std::vector<ledger::Fault> faults;
    std::string halted_reason;
    ledger::TravelExtent travelled;
    int direction = 1; // of travel, −1 where positions count down
    Siblings siblings;
    std::optional<measures::Transverse> transverse; // line mode, two channels or more
    std::vector<Contradicted> contradictions;       // to be said first
    std::vector<std::string> notes;                 // for the whole run
    verdict::Outcome outcome = verdict::Outcome::undecided;
};

} // namespace dropledger::audit
