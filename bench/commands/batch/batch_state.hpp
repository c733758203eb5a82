// What a batch is and how it stands, in words and as JSON; both from the same values.
#pragma once

#include "analysis/batch/batch.hpp"

#include <nlohmann/json_fwd.hpp>

#include <string>
#include <vector>

namespace dropledger::cli {

struct BatchState {
    batch::Batch batch;
    batch::Standing standing;
    batch::CertifiedStatistics statistics;
    std::vector<std::string> notes; // of what was just done
};

// Fails where the profile in the batch cannot be read.
[[nodiscard]] Result<BatchState> state_of(batch::Batch batch, std::vector<std::string> notes);

// `units`: with the units still to be tested and every run.
[[nodiscard]] std::string state_text(const BatchState& state, bool units);
[[nodiscard]] nlohmann::ordered_json state_json(const BatchState& state);
[[nodiscard]] Result<int> deliver_state(const BatchState& state, bool units, bool json);

// 0 accepted, 1 not accepted, 2 not decided.
[[nodiscard]] int decision_status(const batch::Batch& batch);

} // namespace dropledger::cli
