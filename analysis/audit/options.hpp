// What an audit is asked for: the file, the profile to judge by, the calibration in force.
#pragma once

#include "analysis/base/readers/byte_source.hpp"
#include "analysis/base/result.hpp"
#include "analysis/droplog/integrity.hpp"
#include "analysis/ledger/setup.hpp"
#include "analysis/statistics/basics/estimate.hpp"
#include "analysis/verdict/profile.hpp"

#include <functional>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace dropledger::audit {

struct ProfileChoice {
    verdict::Profile profile;
    std::string note; // a sentence, where the choice was not the operator's; may be empty
};

// Names the profile once the log's header and mode are known.
using ChooseProfile = std::function<Result<ProfileChoice>(const droplog::Header&, ledger::Mode)>;

// What a calibration says of one channel's gate.
struct GateCalibration {
    std::string id;
    bool judges = false; // not expired
    std::optional<statistics::Estimate> efficiency;
    std::string efficiency_found_by;   // two gates, hand count, weighing; empty: not stated
    std::string efficiency_assumption; // a sentence
    std::optional<double> flight_u_us; // its flight time stands in the setup
};

struct Calibrated {
    std::string id;                                       // all of them
    std::map<std::pair<int, int>, GateCalibration> gates; // channel, gate
    std::vector<std::string> notes;
};

// Puts flight times (and pulse classifiers) into the setup; fails where a calibration is not for
// this log.
using Calibrate = std::function<Result<Calibrated>(const droplog::Header&, ledger::RunSetup&)>;

// A later log that goes on with the order of the first one.
struct FurtherLog {
    std::string file;
    OpenBytes open;
};

struct AuditOptions {
    std::string file;                    // for messages and the report
    std::vector<FurtherLog> continued{}; // judged with it as one run
    ChooseProfile choose_profile;        // none: nothing is judged
    ledger::SetupOverrides overrides;
    Calibrate calibrate; // none: what the log says is taken
};

} // namespace dropledger::audit
