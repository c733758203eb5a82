// What `check` says of one log, in words and as JSON; both from the same reading.
#pragma once

#include "analysis/droplog/reader.hpp"

#include <nlohmann/json_fwd.hpp>

#include <string>

namespace dropledger::cli {

[[nodiscard]] std::string integrity_page(const std::string& file, const droplog::Reading& reading);
[[nodiscard]] nlohmann::ordered_json integrity_page_json(const std::string& file,
                                                         const droplog::Reading& reading);

} // namespace dropledger::cli
