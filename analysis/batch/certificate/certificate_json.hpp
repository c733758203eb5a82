// A certificate's members out of JSON. Private to the room; json_of() is in certificate.hpp.
#pragma once

#include "analysis/batch/certificate/certificate.hpp"

#include <nlohmann/json.hpp>

namespace dropledger::batch {

inline constexpr const char* certificate_schema = "dropledger/certificate/2";

// Throws where a member is missing, of another kind, or not one of its words.
[[nodiscard]] Certificate certificate_in(const nlohmann::json& json);

} // namespace dropledger::batch
