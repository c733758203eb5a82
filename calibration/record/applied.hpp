// Which calibrations an audit may use, and what they say to the ledger and the report.
//
// A calibration is foreign where its unit, bench, crop or seed size is not the log's or its gate
// does not judge; expired where the run began after its last day. Foreign ones are refused unless
// told; an expired one is named and shown, but does not judge.
#pragma once

#include "analysis/audit/options.hpp"
#include "calibration/record/record.hpp"

#include <map>
#include <string>
#include <vector>

namespace dropledger::calibration {

struct ApplyOptions {
    bool anyway = false; // foreign ones too
    std::string today;   // stands in where the log does not say when it was made
};

[[nodiscard]] audit::Calibrate applying(std::vector<Record> records, ApplyOptions options);

// The pulse classifiers of a channel's gates. Fails where a record is for another unit, bench or
// crop and that was not allowed; one without pulse classes gives none.
[[nodiscard]] Result<std::map<int, ledger::SeedsInPulse>>
classifiers_for(const std::vector<Record>& records, const droplog::Header& header, int channel,
                const ApplyOptions& options);

} // namespace dropledger::calibration
