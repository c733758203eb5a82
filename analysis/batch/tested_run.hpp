// One unit's run as a batch lists it: what it was, where its log lies, what came out.
//
// Assumes: hashes and keys are lower-case hex, times RFC 3339, dates YYYY-MM-DD. A log of several
// channels is several runs, one a unit, with one run id, file and hash.
#pragma once

#include "analysis/statistics/basics/estimate.hpp"
#include "analysis/verdict/judgement.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::batch {

struct TestedRun {
    std::string unit;
    int channel = 0;
    std::string run; // id
    std::string file;
    std::string sha256; // of the whole log
    std::string last_seal;
    std::string signed_by; // public key; empty where the log is not signed
    std::string started;
    std::vector<std::string> calibrations; // ids of those that hold for this unit
    verdict::Outcome outcome = verdict::Outcome::undecided;
    std::int64_t drops = 0;
    std::int64_t misses = 0; // as the gate saw them; portion mode: empty drops
    std::optional<statistics::Estimate> corrected_miss; // the gate's own misses taken out
    bool counted = true;
    std::string reason; // of a re-test, or why the run does not count
};

struct UsedCalibration {
    std::string id;
    std::string file;
    std::string sha256; // of the whole file
    std::string expires;
};

} // namespace dropledger::batch
