// How a batch stands: its plan, how far it is, which evidence is missing, and its runs.
//
// Assumes: `state` is what `batch show --json` says (dropledger/batch-state/2); markup comes back.
#pragma once

#include <nlohmann/json_fwd.hpp>

#include <string>
#include <vector>

namespace dropledger::station {

[[nodiscard]] std::string standing_part(const nlohmann::json& state);
// In one sentence: what was decided, or what an open batch waits for.
[[nodiscard]] std::string decision_words(const nlohmann::json& state);
// "2 of 13 units have a run that decides."; empty where none was chosen yet.
[[nodiscard]] std::string progress_words(const nlohmann::json& state);
// Certificates that were taken back, a sentence each.
[[nodiscard]] std::vector<std::string> taken_back(const nlohmann::json& state);

// In sentences, the next thing first; of the evidence what certificate and pack look for in `folder`.
[[nodiscard]] std::vector<std::string> missing_in(const nlohmann::json& state,
                                                  const std::string& folder);
[[nodiscard]] std::string missing_part(const std::vector<std::string>& missing);

[[nodiscard]] std::string runs_part(const nlohmann::json& state);

// Units that need a run yet: those without one, then those whose runs decide nothing. Of two samples
// those of the first, until it is tested and in doubt; none where plan and runs decide already.
[[nodiscard]] std::vector<std::string> next_units(const nlohmann::json& state);

} // namespace dropledger::station
