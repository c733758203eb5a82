// How a certificate writes its plan and its decision. Private to the room.
#pragma once

#include "analysis/batch/certificate/certificate.hpp"

#include <nlohmann/json.hpp>

namespace dropledger::batch {

[[nodiscard]] nlohmann::json json_of(const CertifiedPlan& plan);
[[nodiscard]] CertifiedPlan plan_of(const nlohmann::json& json); // throws where it cannot be
[[nodiscard]] nlohmann::json json_of(const CertifiedDecision& decision);
[[nodiscard]] CertifiedDecision decision_of(const nlohmann::json& json);

} // namespace dropledger::batch
