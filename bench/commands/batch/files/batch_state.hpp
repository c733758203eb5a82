// What a batch is and how it stands, in words or as JSON; both from the same values.
#pragma once

#include "analysis/batch/chain/batch.hpp"

#include <nlohmann/json_fwd.hpp>

#include <string>
#include <vector>

namespace dropledger::cli {

struct StateOutput {
    std::vector<std::string> notes = {}; // of what was just done
    bool units = false; // in words: with the units still to be tested and every run
    bool json = false;
    int status = 0;
};

// Fails where the profile in the batch cannot be read.
[[nodiscard]] Result<int> deliver_state(batch::Batch batch, StateOutput how);

// What no certificate could rest on: a counted run without a calibration, say; a line each.
[[nodiscard]] std::vector<std::string> hindrances(const batch::Batch& batch);

// As `batch show --json` prints it. Fails where the profile in the batch cannot be read.
[[nodiscard]] Result<nlohmann::ordered_json> shown_state(batch::Batch batch);

// 0 accepted, 1 not accepted, 2 not decided.
[[nodiscard]] int decision_status(const batch::Batch& batch);

} // namespace dropledger::cli
