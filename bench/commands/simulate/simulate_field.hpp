// `dropledger simulate --field`: a night of three fields with known faults, as a field table.
#pragma once

#include "analysis/base/result.hpp"

#include <cstdint>
#include <optional>
#include <string>

namespace dropledger::cli {

struct NightFiles {
    std::string table;
    std::optional<std::string> truth;
    std::uint64_t seed = 1;
};

[[nodiscard]] Result<int> write_night(const NightFiles& files);

} // namespace dropledger::cli
